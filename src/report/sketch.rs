//! The poles of a round as a drawing to scale: north up, a scale bar, numbers in walking order; no tiles.
//!
//! Degrees become metres by the length of a degree at the middle of the poles, which on the few kilometres of a round is
//! as good as any projection. A number that finds no free room beside its pole is left out and counted, never drawn over
//! another.

use super::html::text;
use crate::pole::Place;
use crate::space::{bounding_box, distance};
use crate::units::LengthUnit;
use std::fmt::Write;

/// Width of the drawing in its own units; the page scales it.
const WIDTH: f64 = 640.0;
/// Least and greatest height of the ground drawn.
const HEIGHTS: [f64; 2] = [120.0, 420.0];
/// Room around the ground: for numbers, and below it for the scale.
const MARGIN: f64 = 24.0;
const FOOT: f64 = 30.0;
/// Size of a letter of the numbers.
const LETTER: [f64; 2] = [7.0, 11.0];
/// Metres that a drawing shows at least: one pole has no extent.
const LEAST_METRES: f64 = 60.0;

/// One pole to draw: its number, and where it stands.
pub struct Mark {
    /// Place in the walking order.
    pub number: usize,
    /// Where it stands.
    pub place: Place,
}

/// The drawing, and how many numbers found no room; `None` without any pole.
pub fn sketch(marks: &[Mark], unit: LengthUnit, title: &str) -> Option<(String, usize)> {
    let ground = Ground::of(marks)?;
    let spots: Vec<[f64; 2]> = marks.iter().map(|mark| ground.spot(mark.place)).collect();
    let height = ground.height + 2.0 * MARGIN + FOOT;
    let mut page = format!(
        "<svg class=\"sketch\" viewBox=\"0 0 {WIDTH} {height:.0}\" role=\"img\" aria-labelledby=\"sketch-t\"><title id=\"sketch-t\">{}</title>",
        text(title)
    );
    let way: Vec<String> = spots
        .iter()
        .map(|[x, y]| format!("{x:.1} {y:.1}"))
        .collect();
    let _ = write!(page, "<path class=\"way\" d=\"M{}\"/>", way.join("L"));
    for [x, y] in &spots {
        let _ = write!(page, "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3.2\"/>");
    }
    let (numbers, left_out) = numbers(marks, &spots, height - FOOT);
    page.push_str(&numbers);
    page.push_str(&scale(&ground, unit, height - 10.0));
    let _ = write!(
        page,
        "<path class=\"north\" d=\"M{0:.1} {1:.1}v-20m-5 8l5 -9l5 9\"/><text x=\"{2:.1}\" y=\"{1:.1}\">N</text>",
        WIDTH - MARGIN - 12.0,
        height - 8.0,
        WIDTH - MARGIN - 4.0
    );
    Some((page + "</svg>", left_out))
}

/// The ground that is drawn: its south-west corner, and what a degree and a metre are in the drawing.
struct Ground {
    west: f64,
    north: f64,
    /// Metres in a degree eastward and northward.
    degree: [f64; 2],
    /// Units of the drawing in a metre.
    per_metre: f64,
    height: f64,
    /// Room on the left of the westernmost pole.
    left: f64,
    top: f64,
}

impl Ground {
    fn of(marks: &[Mark]) -> Option<Self> {
        let places: Vec<Place> = marks.iter().map(|mark| mark.place).collect();
        let all = bounding_box(&places)?;
        let at = |longitude, latitude| Place {
            longitude,
            latitude,
        };
        let middle = f64::midpoint(all.south, all.north);
        let degree = [
            distance(at(0.0, middle), at(1.0, middle)),
            distance(at(0.0, 0.0), at(0.0, 1.0)),
        ];
        let wide = (all.east - all.west).rem_euclid(360.0) * degree[0];
        let high = (all.north - all.south) * degree[1];
        let inside = WIDTH - 2.0 * MARGIN;
        let per_metre = (inside / wide.max(LEAST_METRES)).min(HEIGHTS[1] / high.max(LEAST_METRES));
        let height = (high * per_metre).max(HEIGHTS[0]);
        Some(Self {
            west: all.west,
            north: all.north,
            degree,
            per_metre,
            height,
            left: MARGIN + (inside - wide * per_metre) / 2.0,
            top: MARGIN + (height - high * per_metre) / 2.0,
        })
    }

    fn spot(&self, place: Place) -> [f64; 2] {
        let east = (place.longitude - self.west + 1e-9).rem_euclid(360.0) * self.degree[0];
        let south = (self.north - place.latitude) * self.degree[1];
        [
            self.left + east * self.per_metre,
            self.top + south * self.per_metre,
        ]
    }
}

/// Numbers beside their poles where there is room for them, and how many there was none for.
fn numbers(marks: &[Mark], spots: &[[f64; 2]], floor: f64) -> (String, usize) {
    let mut taken: Vec<[f64; 4]> = spots
        .iter()
        .map(|[x, y]| [x - 3.0, y - 3.0, x + 3.0, y + 3.0])
        .collect();
    let (mut page, mut left_out) = (String::new(), 0);
    for (mark, [x, y]) in marks.iter().zip(spots) {
        let wide = LETTER[0] * mark.number.to_string().len() as f64;
        let free = around(*x, *y, wide).into_iter().find(|room| {
            let inside = room[0] >= 1.0 && room[1] >= 1.0 && room[2] <= WIDTH && room[3] <= floor;
            inside && !taken.iter().any(|other| overlap(room, other))
        });
        let Some(room) = free else {
            left_out += 1;
            continue;
        };
        taken.push(room);
        let _ = write!(
            page,
            "<text x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            room[0],
            room[3] - 1.5,
            mark.number
        );
    }
    (page, left_out)
}

/// Rooms for a number beside a pole, best first: left, top, right, bottom of each.
fn around(x: f64, y: f64, wide: f64) -> Vec<[f64; 4]> {
    let high = LETTER[1];
    let mut rooms = Vec::new();
    for away in [5.0, 12.0] {
        for [left, top] in [
            [x + away, y - high / 2.0],
            [x - away - wide, y - high / 2.0],
            [x - wide / 2.0, y - away - high],
            [x - wide / 2.0, y + away],
            [x + away, y - away - high / 2.0],
            [x - away - wide, y + away - high / 2.0],
        ] {
            rooms.push([left, top, left + wide, top + high]);
        }
    }
    rooms
}

fn overlap(one: &[f64; 4], other: &[f64; 4]) -> bool {
    one[0] < other[2] && other[0] < one[2] && one[1] < other[3] && other[1] < one[3]
}

/// A bar of a round length, at most a third of the width, in the owner's kind of unit.
fn scale(ground: &Ground, unit: LengthUnit, y: f64) -> String {
    // A foot and a mile are 0.3048 m and 1,609.344 m exactly.
    let units: [(&str, f64, f64); 2] = match unit {
        LengthUnit::Foot | LengthUnit::Inch => {
            [("ft", 0.3048, 2_640.0), ("mi", 1_609.344, f64::MAX)]
        }
        _ => [("m", 1.0, 1_000.0), ("km", 1_000.0, f64::MAX)],
    };
    let most = WIDTH / 3.0 / ground.per_metre;
    let (word, metres) = if most / units[0].1 < units[0].2 {
        (units[0].0, units[0].1)
    } else {
        (units[1].0, units[1].1)
    };
    let mut round = 0.01;
    'grow: loop {
        for factor in [2.0, 2.5, 2.0] {
            if round * factor > most / metres {
                break 'grow;
            }
            round *= factor;
        }
    }
    let wide = round * metres * ground.per_metre;
    format!(
        "<path class=\"bar\" d=\"M{MARGIN} {0:.1}v6h{wide:.1}v-6\"/><text x=\"{1:.1}\" y=\"{2:.1}\">{3} {word}</text>",
        y - 6.0,
        MARGIN + wide + 6.0,
        y,
        crate::words::quantities::to_decimals(round, 2)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marks(places: &[(f64, f64)]) -> Vec<Mark> {
        places
            .iter()
            .enumerate()
            .map(|(place, (longitude, latitude))| Mark {
                number: place + 1,
                place: Place {
                    longitude: *longitude,
                    latitude: *latitude,
                },
            })
            .collect()
    }

    fn circles(page: &str) -> Vec<[f64; 2]> {
        let number = |text: &str| text.split('"').next().and_then(|n| n.parse().ok());
        page.split("cx=\"")
            .skip(1)
            .map(|part| {
                let y = part.split("cy=\"").nth(1).and_then(number);
                [number(part).expect("x"), y.expect("y")]
            })
            .collect()
    }

    #[test]
    fn north_is_up_east_is_right_and_both_have_one_scale() {
        let of = marks(&[(10.0, 60.0), (10.02, 60.0), (10.0, 60.01)]);
        let (page, left_out) = sketch(&of, LengthUnit::Metre, "t").expect("a drawing");
        let [here, east, north] = circles(&page)[..] else {
            panic!("three poles: {page}")
        };
        assert_eq!(left_out, 0);
        assert!(east[0] > here[0] && north[1] < here[1]);
        // At 60 degrees a degree of longitude is half as long: twice as many degrees are as far, but for the rounding to
        // a tenth of a unit.
        let (right, up) = (east[0] - here[0], here[1] - north[1]);
        assert!((right / up - 1.0).abs() < 2e-3, "{right} {up}");
    }

    #[test]
    fn a_round_across_the_antimeridian_is_no_wider_than_it_is() {
        let of = marks(&[(179.999, 0.0), (-179.999, 0.0)]);
        let (page, _) = sketch(&of, LengthUnit::Metre, "t").expect("a drawing");
        // 0.002 degrees of the equator are 222 m.
        assert!(page.contains(">50 m<"), "{page}");
        let spots = circles(&page);
        assert!(spots[0][0] < spots[1][0], "{spots:?}");
    }

    #[test]
    fn the_scale_is_in_the_owners_kind_of_unit() {
        let of = marks(&[(10.0, 45.0), (10.05, 45.0)]);
        let drawn = |unit| sketch(&of, unit, "t").expect("a drawing").0;
        assert!(drawn(LengthUnit::Metre).contains("1 km<"));
        assert!(drawn(LengthUnit::Foot).contains("0.5 mi<"));
    }

    #[test]
    fn poles_at_one_point_lose_their_numbers_and_are_counted() {
        let of = marks(&[(10.0, 45.0); 40]);
        let (page, left_out) = sketch(&of, LengthUnit::Metre, "<b>").expect("a drawing");
        assert!(left_out > 0 && left_out < 40, "{left_out}");
        assert_eq!(circles(&page).len(), 40);
        assert!(!page.contains("NaN") && !page.contains("<b>"), "{page}");
        assert!(sketch(&[], LengthUnit::Metre, "t").is_none());
    }
}
