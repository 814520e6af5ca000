//! Poles far off their own line: each held to its neighbours by sequence and to the spacing of its line.
//!
//! A line may span far and have gaps; what is asked is whether one pole alone stands where nobody of its line does, and
//! whether a group of them stands so far off that no line goes there. Uses distances only.

use super::places::Located;
use super::table::Row;
use crate::parallel::{change, map_with};
use crate::pole::Place;
use crate::problem::{Code, Problem};
use crate::programme::sources::Field;
use crate::space::{distance, to_the_nearest};
use std::collections::BTreeMap;

/// Lines with fewer places than this have no spacing to speak of.
const FEWEST_OF_A_LINE: usize = 8;
/// A pole is out of line when it is this many usual spacings from both neighbours by sequence ...
const SPACINGS_OFF: f64 = 20.0;
/// ... and at least this many metres: the longest river crossings on wood are shorter.
const METRES_OFF: f64 = 1_000.0;
/// Its neighbours by sequence must stand this many usual spacings from each other at most: then the line goes on without
/// it.
const GAP_IN_SPACINGS: f64 = 5.0;
/// Without a sequence only a pole this many metres from all others of its line is remarked upon.
const METRES_ALONE: f64 = 10_000.0;

/// Poles of one line with nothing in between for so many metres are not of one line: no span and no crossing comes near it,
/// while the wrong zone or code of a projection puts a file hundreds of kilometres off.
const METRES_APART: f64 = 100_000.0;

/// A pole of a line: its place in the list of poles and what it says.
struct Member {
    index: usize,
    place: Place,
    sequence: Option<i32>,
}

/// What there is of each line, in the order of the lines' names and in its own. Poles of one line often stand together in a
/// list: a line is looked up where it is another than the last.
pub(super) fn by_line<'a, T>(items: impl Iterator<Item = (&'a str, T)>) -> Vec<(&'a str, Vec<T>)> {
    let mut places: BTreeMap<&str, usize> = BTreeMap::new();
    let mut lines: Vec<(&str, Vec<T>)> = Vec::new();
    let mut last = 0;
    for (line, item) in items {
        if lines.get(last).is_none_or(|(known, _)| *known != line) {
            last = *places.entry(line).or_insert(lines.len());
            if last == lines.len() {
                lines.push((line, Vec::new()));
            }
        }
        lines[last].1.push(item);
    }
    lines.sort_by_key(|(line, _)| *line);
    lines
}

/// Problems for poles far off their lines. The place of a pole between two neighbours that stand together is taken as
/// unknown; where no sequence speaks, the place is kept and remarked upon.
pub(super) fn far_from_their_lines(
    poles: &[Located<'_>],
    places: &mut [Option<Place>],
    problems: &mut Vec<Problem>,
) {
    let members = poles.iter().enumerate().filter_map(|(index, pole)| {
        let (place, line) = (places[index]?, pole.row.text(Field::Line)?);
        let sequence = sequence(pole.row);
        let member = Member {
            index,
            place,
            sequence,
        };
        Some((line, member))
    });
    let mut lines = by_line(members);
    lines.retain(|(_, members)| members.len() >= FEWEST_OF_A_LINE);
    change(&mut lines, |_, lines| {
        for (_, members) in lines {
            members.sort_by_key(|member| (member.sequence, poles[member.index].id));
        }
    });
    let found = map_with(
        &lines,
        || (),
        |(), (_, members)| (parted(members), stray(members)),
    );
    for ((line, members), (group, strays)) in lines.into_iter().zip(found) {
        if let Some(group) = group {
            let pole = &poles[members[group.first].index];
            let what = format!(
                "{} of the {} poles of line {line}, {} the first of them, stand at least {:.0} km from the others",
                group.members,
                members.len(),
                pole.id,
                group.metres / 1_000.0
            );
            let (code, field) = (Code::FarFromItsLine, pole.fields().0);
            let done = "used as they are";
            problems.push(pole.row.problem(code, field, pole.id, what, done));
        }
        for (member, far, sure) in strays {
            let pole = &poles[members[member].index];
            let slip = Some(far)
                .filter(|far| *far > METRES_APART)
                .and_then(|_| slip(&members, member));
            let far = if far < 10_000.0 {
                format!("{far:.0} m")
            } else {
                format!("{:.0} km", far / 1_000.0)
            };
            let (what, done) = if let Some((_, among)) = slip {
                places[members[member].index] = None;
                (
                    format!(
                        "{} stands {far} from every other pole of line {line}, but among them {among}",
                        pole.id
                    ),
                    "the place is taken as unknown",
                )
            } else if sure {
                places[members[member].index] = None;
                (
                    format!(
                        "{} stands {far} from the poles before and after it on line {line}, which stand together",
                        pole.id
                    ),
                    "the place is taken as unknown",
                )
            } else {
                (
                    format!(
                        "{} stands {far} from every other pole of line {line}",
                        pole.id
                    ),
                    "used as it is",
                )
            };
            let (code, field) = (
                slip.map_or(Code::FarFromItsLine, |(code, _)| code),
                pole.fields().0,
            );
            problems.push(pole.row.problem(code, field, pole.id, what, done));
        }
    }
}

/// The slip of the pen that puts a pole far off its line: what would bring it among the others.
fn slip(members: &[Member], stray: usize) -> Option<(Code, &'static str)> {
    let Place {
        longitude,
        latitude,
    } = members[stray].place;
    let is_among = |(longitude, latitude): (f64, f64)| {
        let there = Place {
            longitude,
            latitude,
        };
        let mut others = members.iter().enumerate();
        latitude.abs() <= 90.0
            && others.any(|(other, member)| {
                other != stray && distance(there, member.place) < METRES_ALONE
            })
    };
    let flipped = [
        (-longitude, latitude),
        (longitude, -latitude),
        (-longitude, -latitude),
    ];
    if is_among((latitude, longitude)) {
        Some((Code::SwappedPlace, "when exchanged"))
    } else if flipped.into_iter().any(is_among) {
        Some((Code::WrongSign, "with another sign"))
    } else {
        None
    }
}

fn sequence(row: Row<'_>) -> Option<i32> {
    let text = row.text(Field::Sequence)?;
    text.strip_suffix(".0").unwrap_or(text).parse().ok()
}

/// Members of a line that stand far from its others.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Parted {
    /// The first of them in the order of the line.
    first: usize,
    members: usize,
    /// How far they are from the others, at least.
    metres: f64,
}

/// The smaller part of a line with an empty band of [`METRES_APART`] through it, from north to south or from east to west;
/// of equal parts the one that comes later in the line. A pole alone is [`stray`]'s.
fn parted(members: &[Member]) -> Option<Parted> {
    let mut sorted: Vec<usize> = (0..members.len()).collect();
    let along = |by: fn(&Place) -> f64, across: fn(Place, Place) -> f64, sorted: &mut [usize]| {
        sorted
            .sort_by(|one, other| by(&members[*one].place).total_cmp(&by(&members[*other].place)));
        let gaps = sorted.windows(2).enumerate();
        gaps.map(|(place, pair)| {
            let [before, after] = [pair[0], pair[1]].map(|member| members[member].place);
            (place + 1, across(before, after))
        })
        .filter(|(_, metres)| *metres >= METRES_APART)
        .max_by(|one, other| one.1.total_cmp(&other.1))
    };
    let north = |a: Place, b: Place| {
        distance(
            a,
            Place {
                longitude: a.longitude,
                ..b
            },
        )
    };
    // At the latitude nearer to the pole degrees of longitude are shortest.
    let east = |a: Place, b: Place| {
        let latitude = if a.latitude.abs() > b.latitude.abs() {
            a.latitude
        } else {
            b.latitude
        };
        let at = |longitude| Place {
            longitude,
            latitude,
        };
        distance(at(a.longitude), at(b.longitude))
    };
    let found = along(|place| place.latitude, north, &mut sorted)
        .or_else(|| along(|place| place.longitude, east, &mut sorted));
    let (cut, metres) = found?;
    let (one, other) = sorted.split_at(cut);
    let start = |part: &[usize]| part.iter().copied().min().unwrap_or(0);
    let small = if (one.len(), other.len()) < (other.len(), one.len())
        || one.len() == other.len() && start(one) > start(other)
    {
        one
    } else {
        other
    };
    (small.len() > 1).then(|| Parted {
        first: start(small),
        members: small.len(),
        metres,
    })
}

/// Members of one line that stand alone: how far off, in metres, and whether their neighbours by sequence prove it.
fn stray(members: &[Member]) -> Vec<(usize, f64, bool)> {
    let places: Vec<Place> = members.iter().map(|member| member.place).collect();
    let alone = to_the_nearest(&places);
    let mut sorted = alone.clone();
    sorted.sort_by(f64::total_cmp);
    let spacing = crate::maths::quantile_of_sorted(&sorted, 0.5).unwrap_or_default();
    let far = METRES_OFF.max(SPACINGS_OFF * spacing);
    let mut found = Vec::new();
    for (member, off) in alone.iter().enumerate().filter(|(_, off)| **off > far) {
        let sequenced = |other: Option<&Member>| {
            other
                .filter(|other| other.sequence.is_some())
                .map(|other| other.place)
        };
        let before = sequenced(member.checked_sub(1).and_then(|place| members.get(place)));
        let after = sequenced(members.get(member + 1));
        let here = sequenced(members.get(member));
        let proof = here
            .zip(before.zip(after))
            .filter(|(here, (before, after))| {
                let gap = distance(*before, *after);
                let nearer = distance(*here, *before).min(distance(*here, *after));
                gap <= GAP_IN_SPACINGS * spacing.max(1.0) && nearer > far
            });
        if proof.is_some() {
            found.push((member, *off, true));
        } else if *off > METRES_ALONE.max(far) {
            found.push((member, *off, false));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::{Member, by_line, stray};
    use crate::pole::Place;

    #[test]
    fn what_stands_scattered_comes_together_by_line() {
        let items = [("b", 1), ("b", 2), ("a", 3), ("c", 4), ("b", 5), ("a", 6)];
        let lines = by_line(items.into_iter());
        assert_eq!(
            lines,
            [("a", vec![3, 6]), ("b", vec![1, 2, 5]), ("c", vec![4])]
        );
    }

    #[test]
    fn a_group_of_a_line_in_another_country_is_told_of_once() {
        let mut members = line(true);
        assert_eq!(super::parted(&members), None);
        // Five of twenty, 5 degrees of longitude further on: 5 x 111.2 km x cos 50 = 357 km.
        for member in &mut members[10..15] {
            member.place.longitude += 5.0;
        }
        let found = super::parted(&members).expect("a group");
        assert_eq!((found.first, found.members), (10, 5));
        assert!(
            (found.metres - 357_000.0).abs() < 2_000.0,
            "{}",
            found.metres
        );
        // One alone is a stray, not a group.
        let mut members = line(true);
        members[3].place.latitude += 10.0;
        assert_eq!(super::parted(&members), None);
    }

    /// A line of 20 poles at about 50 m (0.0007 degrees of longitude at 50 N), numbered by tens.
    fn line(sequenced: bool) -> Vec<Member> {
        (0..20_i32)
            .map(|number| Member {
                index: number as usize,
                place: Place {
                    longitude: 11.0 + 0.0007 * f64::from(number),
                    latitude: 50.0,
                },
                sequence: sequenced.then_some(10 * number),
            })
            .collect()
    }

    #[test]
    fn a_pole_away_from_neighbours_that_stand_together_is_proved_stray() {
        let mut members = line(true);
        assert!(stray(&members).is_empty());
        members[7].place.latitude += 0.1;
        let found = stray(&members);
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].0, found[0].2), (7, true));
        // A tenth of a degree of latitude is 11.1 km.
        assert!((found[0].1 / 11_120.0 - 1.0).abs() < 0.01, "{}", found[0].1);
    }

    #[test]
    fn a_line_that_goes_on_beyond_a_gap_has_no_stray_pole() {
        let mut members = line(true);
        for member in &mut members[10..] {
            member.place.longitude += 2.0;
        }
        assert!(stray(&members).is_empty());
        // The last pole of a line may be far along: nothing after it says that the line turns back.
        let mut members = line(true);
        members[19].place.longitude += 0.05;
        assert!(stray(&members).is_empty());
    }

    #[test]
    fn a_slip_of_the_pen_is_named_where_it_explains_the_distance() {
        use crate::problem::Code;
        let mut members = line(false);
        let right = members[3].place;
        let mut named = |longitude, latitude| {
            members[3].place = Place {
                longitude,
                latitude,
            };
            super::slip(&members, 3).map(|(code, _)| code)
        };
        assert_eq!(
            named(right.latitude, right.longitude),
            Some(Code::SwappedPlace)
        );
        assert_eq!(
            named(-right.longitude, right.latitude),
            Some(Code::WrongSign)
        );
        assert_eq!(named(right.longitude + 5.0, right.latitude), None);
    }

    #[test]
    fn without_a_sequence_only_a_pole_far_from_all_is_remarked_upon() {
        let mut members = line(false);
        members[3].place.latitude += 0.05;
        assert!(stray(&members).is_empty(), "5.6 km");
        members[3].place.latitude += 0.1;
        assert_eq!(
            stray(&members).first().map(|found| (found.0, found.2)),
            Some((3, false))
        );
    }
}
