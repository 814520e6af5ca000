//! What of the records a plan takes on trust or leaves unused: materials that nobody explained, loadings without a factor,
//! years without removals. Said wherever the records are counted.
//!
//! Counts the inventory and reads the programme; decides nothing.

use super::quantities::counted;
use crate::inventory::Inventory;
use crate::programme::Programme;

/// Years without a removal at the beginning of the time of which all removals are said to be listed, from which on they
/// are told of (judgement: small networks go a year or two without any).
const QUIET_YEARS: i16 = 3;

/// Everything that is taken on trust, as lines; empty where there is nothing.
pub fn on_trust(inventory: &Inventory, programme: &Programme) -> Vec<String> {
    [
        unknown_material(inventory),
        unused_loadings(inventory, programme),
        quiet_years(inventory, programme),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Poles of which nobody knows that they are of wood.
fn unknown_material(inventory: &Inventory) -> Option<String> {
    let poles = inventory.poles().iter();
    let count = poles.filter(|pole| pole.material_unknown).count();
    (count > 0).then(|| {
        format!(
            "MATERIAL NOT KNOWN of {}: planned for as if of wood (P602, P120); map [poles.codes.material] before you rely on the numbers",
            counted(count, "pole", "poles")
        )
    })
}

/// Loadings that are given and do not count in failure in wind.
fn unused_loadings(inventory: &Inventory, programme: &Programme) -> Option<String> {
    let poles = inventory.poles().iter();
    let count = poles.filter(|pole| pole.loading.is_some()).count();
    let unused = count > 0 && programme.hazards.load_factor.is_none();
    unused.then(|| {
        format!(
            "the loading of {} does not count in failure in wind, since hazards.load_factor is not set: every pole takes hazards.use_of_capacity = {}",
            counted(count, "pole", "poles"),
            programme.hazards.use_of_capacity
        )
    })
}

/// Years of which the programme says that all removals are listed, before the first that is.
fn quiet_years(inventory: &Inventory, programme: &Programme) -> Option<String> {
    let listed = programme.removals.listed?;
    let removed = inventory.removed.iter();
    let of_cause = removed.filter(|gone| listed.causes[gone.cause.index()]);
    let since = of_cause
        .map(|gone| gone.ended)
        .filter(|ended| *ended >= listed.since);
    let Some(first) = since.min() else {
        return Some(format!(
            "removals.listed_since = {}, and no pole that went since then is on record: taken as none went",
            listed.since.year()
        ));
    };
    (first.year() - listed.since.year() >= QUIET_YEARS).then(|| {
        format!(
            "removals.listed_since = {}, and the first pole on record went in {}: taken as none went before; give the year since which all are listed, if that is not so",
            listed.since.year(),
            first.year()
        )
    })
}

#[cfg(test)]
mod tests {
    use super::on_trust;
    use crate::common::{inventory_of, pole_set, programme};
    use crate::inventory::{Ended, Inventory, Names, Removal};
    use crate::pole::{Loading, Pole, RemovalCause};
    use crate::programme::ListedRemovals;
    use jiff::civil::date;

    fn of(pole: Pole) -> Inventory {
        inventory_of(vec![("A", "L", pole, vec![])])
    }

    #[test]
    fn what_is_known_and_used_is_not_spoken_of() {
        assert_eq!(on_trust(&of(pole_set(1980)), &programme()), [""; 0]);
    }

    #[test]
    fn poles_of_unknown_material_are_counted() {
        let pole = Pole {
            material_unknown: true,
            ..pole_set(1980)
        };
        let lines = on_trust(&of(pole), &programme());
        assert!(lines[0].starts_with("MATERIAL NOT KNOWN of 1 pole: planned for as if of wood"));
    }

    #[test]
    fn loadings_count_once_there_is_a_factor() {
        let inventory = of(Pole {
            loading: Some(Loading::UseOfCapacity(0.6)),
            ..pole_set(1980)
        });
        let mut programme = programme();
        let lines = on_trust(&inventory, &programme);
        assert!(
            lines[0].contains("hazards.load_factor is not set"),
            "{lines:?}"
        );
        programme.hazards.load_factor = Some(1.5);
        assert_eq!(on_trust(&inventory, &programme), [""; 0]);
    }

    #[test]
    fn years_before_the_first_removal_on_record_are_told_of() {
        let gone = |year| Removal {
            id: "B".to_owned(),
            pole: pole_set(1970),
            ended: date(year, 6, 1),
            because: Ended::Removed,
            cause: RemovalCause::Condemned,
            inspections: Vec::new(),
        };
        let told = |removed: Vec<Removal>| {
            let inventory = of(pole_set(1980)).with_removed(&Names::default(), removed);
            let mut programme = programme();
            programme.removals.listed = Some(ListedRemovals {
                since: date(2000, 1, 1),
                causes: [true; 3],
            });
            on_trust(&inventory, &programme)
        };
        // Of what went before the day nobody said that it is listed whole.
        let late = told(vec![gone(1995), gone(2015)]);
        assert!(
            late[0].contains("went in 2015: taken as none went before"),
            "{late:?}"
        );
        assert_eq!(told(vec![gone(2002), gone(2015)]), [""; 0]);
        let none = told(Vec::new());
        assert!(none[0].contains("taken as none went"), "{none:?}");
    }
}
