//! Poles far off their own line: each held to its neighbours by sequence and to the spacing of its line.
//!
//! A line may span far and have gaps; what is asked is whether one pole alone stands where nobody of its line does. Uses
//! distances only; moves nothing.

use super::places::Located;
use super::table::Row;
use crate::pole::Place;
use crate::problem::{Code, Problem};
use crate::programme::sources::Field;
use crate::space::{Neighbours, distance};
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

/// A pole of a line: its place in the list of poles and what it says.
struct Member {
    index: usize,
    place: Place,
    sequence: Option<i32>,
}

/// Problems for poles far off their lines. The place of a pole between two neighbours that stand together is taken as
/// unknown; where no sequence speaks, the place is kept and remarked upon.
pub(super) fn far_from_their_lines(
    poles: &[Located<'_>],
    places: &mut [Option<Place>],
    problems: &mut Vec<Problem>,
) {
    let mut lines: BTreeMap<&str, Vec<Member>> = BTreeMap::new();
    for (index, pole) in poles.iter().enumerate() {
        if let (Some(place), Some(line)) = (places[index], pole.row.text(Field::Line)) {
            let sequence = sequence(pole.row);
            lines.entry(line).or_default().push(Member {
                index,
                place,
                sequence,
            });
        }
    }
    for (line, mut members) in lines {
        if members.len() < FEWEST_OF_A_LINE {
            continue;
        }
        members.sort_by_key(|member| (member.sequence, poles[member.index].id));
        for (member, far, sure) in stray(&members) {
            let pole = &poles[members[member].index];
            let far = if far < 10_000.0 {
                format!("{far:.0} m")
            } else {
                format!("{:.0} km", far / 1_000.0)
            };
            let (what, done) = if sure {
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
            let field = pole.fields().0;
            problems.push(
                pole.row
                    .problem(Code::FarFromItsLine, field, pole.id, what, done),
            );
        }
    }
}

fn sequence(row: Row<'_>) -> Option<i32> {
    let text = row.text(Field::Sequence)?;
    text.strip_suffix(".0").unwrap_or(text).parse().ok()
}

/// Members of one line that stand alone: how far off, in metres, and whether their neighbours by sequence prove it.
fn stray(members: &[Member]) -> Vec<(usize, f64, bool)> {
    let places: Vec<Place> = members.iter().map(|member| member.place).collect();
    let index = Neighbours::new(&places);
    // The nearest is the pole itself, or one at the same point.
    let alone: Vec<f64> = places
        .iter()
        .map(|place| index.nearest(*place, 2).last().map_or(0.0, |near| near.1))
        .collect();
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
    use super::{Member, stray};
    use crate::pole::Place;

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
