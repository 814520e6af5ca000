//! `areas.csv`: what a plan holds, by squares of a coarse grid: what may be shown to everybody in place of packages.
//!
//! A square is a tenth of a degree wide and high, some 11 km from south to north. Squares with few poles, whose place could
//! then be guessed, and poles without coordinates are counted together without a place.

use super::audience::for_everybody;
use super::{Column, Holds, Sheet, Value, column, measured};
use crate::pole::Place;
use crate::schedule::{Action, Standing};
use crate::words::quantities::to_decimals;
use crate::words::{Case, Caution};
use std::collections::BTreeMap;

/// Squares to a degree.
const SQUARES: f64 = 10.0;

/// Fewest poles of a square that is shown (judgement: with fewer a neighbour could tell which is meant).
pub const LEAST_POLES: usize = 10;

/// One square, or what no square shows.
#[derive(Debug, Clone, Default)]
pub struct Area {
    name: String,
    /// South and west edge in tenths of degrees.
    corner: Option<(i32, i32)>,
    poles: usize,
    inspections: [usize; 2],
    deferred: usize,
    overdue: usize,
    replacements: usize,
    below_limit: f64,
}

impl Area {
    fn add(&mut self, other: &Self) {
        self.poles += other.poles;
        for (own, more) in self.inspections.iter_mut().zip(other.inspections) {
            *own += more;
        }
        self.deferred += other.deferred;
        self.overdue += other.overdue;
        self.replacements += other.replacements;
        self.below_limit += other.below_limit;
    }

    fn of_pole(case: &Case<'_>) -> Self {
        let row = case.row();
        let planned = |year: u16, wanted: Action| {
            let is = matches!(row.standing, Standing::Planned { action, year: at, .. } if at == year && action == wanted);
            usize::from(is)
        };
        Self {
            poles: 1,
            inspections: [planned(0, Action::Inspect), planned(1, Action::Inspect)],
            deferred: usize::from(matches!(row.standing, Standing::Deferred { .. })),
            overdue: usize::from(row.overdue_days > 0),
            replacements: planned(0, Action::Replace) + planned(0, Action::MakeSafe),
            below_limit: case
                .condition()
                .below_limit
                .first()
                .map_or(0.0, |p| f64::from(*p)),
            ..Self::default()
        }
    }

    /// South-west and north-east corner; none for what no square shows.
    pub fn corners(&self) -> Option<(Place, Place)> {
        let (south, west) = self.corner?;
        let at = |tenths_south: i32, tenths_west: i32| Place {
            longitude: f64::from(tenths_west) / SQUARES,
            latitude: f64::from(tenths_south) / SQUARES,
        };
        Some((at(south, west), at(south + 1, west + 1)))
    }
}

/// The squares of a fleet from south to north and west to east, and after them what no square shows.
pub fn squares(fleet: Case<'_>) -> Vec<Area> {
    let mut squares: BTreeMap<Option<(i32, i32)>, Area> = BTreeMap::new();
    for pole in fleet.inventory.indices() {
        let case = Case { pole, ..fleet };
        let square = case.facts().place.map(square_of);
        squares
            .entry(square)
            .or_default()
            .add(&Area::of_pole(&case));
    }
    let mut shown = Vec::new();
    let mut elsewhere = Area {
        name: "elsewhere".to_owned(),
        ..Area::default()
    };
    for (corner, area) in squares {
        if corner.is_none() || area.poles < LEAST_POLES {
            elsewhere.add(&area);
        } else {
            shown.push(Area {
                name: format!("area {}", shown.len() + 1),
                corner,
                ..area
            });
        }
    }
    if elsewhere.poles > 0 {
        shown.push(elsewhere);
    }
    shown
}

/// South and west edge of the square that holds a place, in tenths of degrees.
fn square_of(place: Place) -> (i32, i32) {
    let edge = |degrees: f64, last: i32| ((degrees * SQUARES).floor() as i32).min(last);
    (edge(place.latitude, 899), edge(place.longitude, 1799))
}

/// The squares as a table.
pub fn areas(fleet: Case<'_>) -> Sheet<'static> {
    let all = squares(fleet);
    let mut columns = edges();
    columns.extend(counts());
    Sheet::new("areas", for_everybody(columns), all.len(), move |row| {
        all[row].clone()
    })
}

fn edge(area: &Area, pick: fn((Place, Place)) -> f64) -> Value {
    area.corners()
        .map_or(Value::Empty, |corners| Value::number(pick(corners)))
}

fn edges() -> Vec<Column<Area>> {
    vec![
        column(
            "area",
            Holds::Text,
            "number of the square; elsewhere: poles without coordinates, and those of squares with fewer than 10 poles",
            |area: &Area| Value::text(area.name.as_str()),
        ),
        measured(
            "degrees",
            "west",
            Holds::Number,
            "west edge, WGS 84; a square is a tenth of a degree wide and high",
            |area| edge(area, |(low, _)| low.longitude),
        ),
        measured("degrees", "south", Holds::Number, "south edge", |area| {
            edge(area, |(low, _)| low.latitude)
        }),
        measured("degrees", "east", Holds::Number, "east edge", |area| {
            edge(area, |(_, high)| high.longitude)
        }),
        measured("degrees", "north", Holds::Number, "north edge", |area| {
            edge(area, |(_, high)| high.latitude)
        }),
    ]
}

fn counts() -> Vec<Column<Area>> {
    vec![
        column("poles", Holds::Whole, "poles planned for", |area: &Area| {
            Value::whole(area.poles)
        }),
        column(
            "inspections_first_year",
            Holds::Whole,
            "inspections planned in the first plan year",
            |area| Value::whole(area.inspections[0]),
        ),
        column(
            "inspections_second_year",
            Holds::Whole,
            "inspections planned in the second plan year",
            |area| Value::whole(area.inspections[1]),
        ),
        column(
            "deferred",
            Holds::Whole,
            "poles at which something is called for and not planned",
            |area| Value::whole(area.deferred),
        ),
        column(
            "overdue",
            Holds::Whole,
            "poles at which something is overdue at the plan date",
            |area| Value::whole(area.overdue),
        ),
        column(
            "replacements_first_year",
            Holds::Whole,
            "poles judged below the limit or dangerous whose replacement is planned in the first plan year",
            |area| Value::whole(area.replacements),
        ),
        column(
            "below_limit_expected",
            Holds::Number,
            "poles expected to be below the limit at the plan date: the sum of their probabilities",
            |area| Value::number(to_decimals(area.below_limit, 0)),
        ),
        column(
            "caution",
            Holds::Text,
            "what to beware of; never empty",
            |_| Value::text(Caution::Estimate.text()),
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::tables::tests::{assert_typed, cell};
    use crate::words::sample;

    #[test]
    fn a_square_with_few_poles_has_no_place() {
        let sample = sample::fleet();
        let sheet = areas(sample.case(PoleIndex(0)));
        assert_typed(&sheet);
        assert_eq!(sheet.len, 1);
        assert_eq!(cell(&sheet, 0, "area"), "elsewhere");
        assert_eq!(cell(&sheet, 0, "west"), "");
        assert_eq!(cell(&sheet, 0, "poles"), "5");
    }

    #[test]
    fn squares_have_edges_on_tenths_of_degrees() {
        let place = Place {
            longitude: -120.002,
            latitude: 45.123_456_789,
        };
        assert_eq!(square_of(place), (451, -1201));
        let area = Area {
            corner: Some((451, -1201)),
            ..Area::default()
        };
        let (low, high) = area.corners().expect("a square");
        assert_eq!(low.longitude.to_string(), "-120.1");
        assert_eq!(high.longitude.to_string(), "-120");
        assert_eq!(low.latitude.to_string(), "45.1");
        assert_eq!(high.latitude.to_string(), "45.2");
        // The ends of the earth belong to the last square.
        let end = Place {
            longitude: 180.0,
            latitude: 90.0,
        };
        assert_eq!(square_of(end), (899, 1799));
    }
}
