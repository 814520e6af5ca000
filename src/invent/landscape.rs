//! The invented land: districts, substations, lines that branch and bend, stretches set in one go, bad soil.
//!
//! Everything here is made up, and the coordinates lie in the open ocean so that no real place is meant. Knows where
//! poles stand and what was set there first, nothing of what became of them.

use super::Recipe;
use super::dice::Dice;
use super::stock::{Stock, bought};
use crate::maths::exp;
use crate::pole::{Consequence, Place};
use crate::space::{Neighbours, destination};

/// A district of the invented owner.
#[derive(Debug, Clone, Copy)]
pub(super) struct District {
    /// Name.
    pub name: &'static str,
    /// First letters of its lines and poles.
    pub letters: &'static str,
    /// Decay zone.
    pub zone: u8,
    /// Its first substation.
    corner: Place,
    /// Whether further substations lie to the north (or the south).
    grows_north: bool,
    /// Share of the lines.
    share: f64,
}

/// Uplands with a mild climate, and a wet, warm coast.
pub(super) const DISTRICTS: [District; 2] = [
    District {
        name: "Harrow Vale",
        letters: "HV",
        zone: 2,
        corner: Place {
            longitude: -35.3,
            latitude: 45.3,
        },
        grows_north: true,
        share: 0.6,
    },
    District {
        name: "Saltmarsh",
        letters: "SM",
        zone: 4,
        corner: Place {
            longitude: -35.2,
            latitude: 45.0,
        },
        grows_north: false,
        share: 0.4,
    },
];

/// A line of poles.
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// Name.
    pub name: String,
    /// Its place in [`DISTRICTS`].
    pub district: usize,
    /// Shift of the logarithm of life that all its poles share: the soil.
    pub soil_shift: f64,
    /// What was set in one go.
    pub stretches: Vec<Stretch>,
    /// Where poles stand, in the order of their sequence numbers.
    pub sites: Vec<Site>,
}

/// A place for a pole.
#[derive(Debug, Clone, Copy)]
pub(super) struct Site {
    /// Where.
    pub place: Place,
    /// Its stretch in the line.
    pub stretch: usize,
}

/// What one purchase gave: the same lot of poles on a stretch of line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch {
    /// Year of setting.
    pub year: i16,
    /// What was bought.
    pub stock: Stock,
    /// Shift of the logarithm of life that the lot shares: the treating charge.
    pub batch_shift: f64,
    /// What stands below.
    pub consequence: Consequence,
}

/// Waves in which the invented network was built: first year, last year, weight.
const WAVES: [((i16, i16), f64); 5] = [
    ((1955, 1963), 0.07),
    ((1964, 1975), 0.20),
    ((1976, 1990), 0.31),
    ((1991, 2006), 0.26),
    ((2007, 2020), 0.16),
];

/// All lines of the recipe's network.
pub(super) fn lines(recipe: &Recipe) -> Vec<Line> {
    let mut dice = Dice::of(recipe.seed, "lines");
    let mut lines: Vec<Line> = Vec::new();
    let mut counts = [0_usize; DISTRICTS.len()];
    let mut left = recipe.poles;
    while left > 0 {
        let wanted = dice.whole(60, 150) as usize;
        // What is left over when a network is all but built goes on the last line.
        let size = if left < wanted + 60 {
            left.min(210)
        } else {
            wanted
        };
        left -= size;
        let district = dice.pick(&[(0, DISTRICTS[0].share), (1, DISTRICTS[1].share)]);
        lines.push(line(recipe, district, counts[district], size));
        counts[district] += 1;
    }
    let shifts = soil(recipe, &lines);
    for (line, shift) in lines.iter_mut().zip(shifts) {
        line.soil_shift = shift;
    }
    lines
}

fn line(recipe: &Recipe, district: usize, number: usize, size: usize) -> Line {
    let name = format!("{}-{:03}", DISTRICTS[district].letters, number + 1);
    let mut dice = Dice::of(recipe.seed, &format!("line {name}"));
    let places = path(&DISTRICTS[district], number, size, &mut dice);
    let (stretches, stretch_of) = stretches(recipe, size, &mut dice);
    let sites = places
        .into_iter()
        .zip(stretch_of)
        .map(|(place, stretch)| Site { place, stretch })
        .collect();
    Line {
        name,
        district,
        soil_shift: 0.0,
        stretches,
        sites,
    }
}

/// Lines that leave each substation.
const LINES_A_SUBSTATION: usize = 8;
/// Metres between substations.
const BETWEEN_SUBSTATIONS: f64 = 9000.0;
/// Substations side by side before the next row.
const SUBSTATIONS_A_ROW: usize = 6;

fn substation(district: &District, number: usize) -> Place {
    let station = number / LINES_A_SUBSTATION;
    let (row, column) = (station / SUBSTATIONS_A_ROW, station % SUBSTATIONS_A_ROW);
    let away = if district.grows_north { 0.0 } else { 180.0 };
    let along = destination(district.corner, 90.0, column as f64 * BETWEEN_SUBSTATIONS);
    destination(along, away, row as f64 * BETWEEN_SUBSTATIONS)
}

/// Places along a trunk that bends gently, then along branches that leave it; spans of 35 to 60 m.
fn path(district: &District, number: usize, size: usize, dice: &mut Dice) -> Vec<Place> {
    let trunk = (size as f64 * dice.between(0.5, 0.75)).ceil() as usize;
    let spoke = (number % LINES_A_SUBSTATION) as f64 / LINES_A_SUBSTATION as f64;
    let bearing = 360.0 * spoke + dice.normal(0.0, 10.0);
    let start = substation(district, number);
    let mut places = run(start, bearing, trunk, dice);
    while places.len() < size {
        let from = places[dice.whole(3, trunk.max(4) as i32 - 1).min(trunk as i32 - 1) as usize];
        let side = if dice.chance(0.5) { 75.0 } else { -75.0 };
        let length = (dice.whole(6, 25) as usize).min(size - places.len());
        let turn = dice.normal(side, 12.0);
        places.extend(run(from, bearing + turn, length, dice));
    }
    places
}

fn run(from: Place, bearing: f64, count: usize, dice: &mut Dice) -> Vec<Place> {
    let mut here = from;
    let mut heading = bearing;
    let mut bend = 0.0;
    (0..count)
        .map(|_| {
            bend = 0.85 * bend + dice.normal(0.0, 1.2);
            heading += bend;
            here = destination(here, heading.rem_euclid(360.0), dice.between(35.0, 60.0));
            Place {
                longitude: rounded(here.longitude),
                latitude: rounded(here.latitude),
            }
        })
        .collect()
}

/// Six decimals of a degree, as lists keep them: a tenth of a metre.
fn rounded(degrees: f64) -> f64 {
    (degrees * 1e6).round() / 1e6
}

/// Stretches of 10 to 40 poles: most set when the line was built, some later; and the stretch of each site.
fn stretches(recipe: &Recipe, size: usize, dice: &mut Dice) -> (Vec<Stretch>, Vec<usize>) {
    let (first, last) = dice.pick(&WAVES);
    let built = dice.whole(i32::from(first), i32::from(last)) as i16;
    let mut stretches = Vec::new();
    let mut stretch_of = Vec::with_capacity(size);
    while stretch_of.len() < size {
        let year = if dice.chance(0.15) {
            dice.whole(i32::from(built), 2020)
        } else {
            i32::from(built) + dice.whole(0, 2)
        };
        let year = (year as i16).min(recipe.today.year() - 1);
        stretch_of.extend(std::iter::repeat_n(
            stretches.len(),
            dice.whole(10, 40) as usize,
        ));
        stretches.push(Stretch {
            year,
            stock: bought(year, None, dice),
            batch_shift: dice.normal(0.0, recipe.tau_batch),
            consequence: if dice.chance(0.12) {
                Consequence::High
            } else {
                Consequence::Ordinary
            },
        });
    }
    stretch_of.truncate(size);
    (stretches, stretch_of)
}

/// Lines nearby that share a soil.
const SOIL_NEIGHBOURS: usize = 6;

/// Each line's soil: exactly normal with the recipe's spread over lines, and alike for lines that are near.
///
/// Every line has an independent normal draw; its soil is the weighted mean of its own and its neighbours' draws,
/// divided by the root of the sum of squared weights, which keeps the variance.
fn soil(recipe: &Recipe, lines: &[Line]) -> Vec<f64> {
    let middles: Vec<Place> = lines
        .iter()
        .map(|line| line.sites[line.sites.len() / 3].place)
        .collect();
    let mut dice = Dice::of(recipe.seed, "soil");
    let draws: Vec<f64> = lines.iter().map(|_| dice.normal(0.0, 1.0)).collect();
    let index = Neighbours::new(&middles);
    middles
        .iter()
        .map(|middle| {
            let near = index.nearest(*middle, SOIL_NEIGHBOURS);
            let weighted = near
                .iter()
                .map(|(line, far)| (draws[*line], exp(-far / recipe.soil_range_metres)));
            let (sum, squares) = weighted.fold((0.0, 0.0), |(sum, squares), (draw, weight)| {
                (sum + weight * draw, squares + weight * weight)
            });
            recipe.tau_area * sum / f64::sqrt(squares)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::distance;

    #[test]
    fn a_network_has_the_poles_that_were_asked_for_on_spans_of_the_trade() {
        for poles in [1, 59, 150, 1234, 5000] {
            let lines = lines(&Recipe {
                poles,
                ..Recipe::default()
            });
            let total: usize = lines.iter().map(|line| line.sites.len()).sum();
            assert_eq!(total, poles);
            let spans = lines.iter().flat_map(|line| line.sites.windows(2));
            let spans: Vec<f64> = spans.map(|s| distance(s[0].place, s[1].place)).collect();
            // Branches jump back to the trunk: those steps are longer and few. Rounding to 1e-6 degree moves 0.2 m.
            let ordinary = spans
                .iter()
                .filter(|span| (34.8..60.2).contains(*span))
                .count();
            assert!(ordinary as f64 >= 0.88 * spans.len() as f64, "{ordinary}");
        }
    }

    #[test]
    fn soils_spread_as_asked_and_are_alike_nearby() {
        let recipe = Recipe {
            poles: 60_000,
            ..Recipe::default()
        };
        let lines = lines(&recipe);
        let n = lines.len() as f64;
        let sum_of = |f: &dyn Fn(&Line) -> f64| lines.iter().map(f).sum::<f64>() / n;
        let sd = f64::sqrt(sum_of(&|line| line.soil_shift * line.soil_shift));
        // About 570 lines in groups of six: the standard error of the deviation is near 0.15 / sqrt(2 * 570 / 6) = 0.011.
        assert!((sd - recipe.tau_area).abs() < 3.0 * 0.011, "{sd}");
        let alike: f64 = lines
            .windows(2)
            .filter(|pair| pair[0].district == pair[1].district)
            .map(|pair| pair[0].soil_shift * pair[1].soil_shift)
            .sum::<f64>();
        assert!(alike / (n * sd * sd) > 0.1, "{}", alike / (n * sd * sd));
    }
}
