//! Rows of decisions: what is taken, what is refused and what is said of it.

use crate::intake::tests::table;
use crate::intake::{Table, Tables, take_in_all};
use crate::inventory::{Inventory, Target};
use crate::pole::{Action, DecisionKind, Method};
use crate::problem::{Code, Problems};
use crate::programme::text::read;
use jiff::civil::date;
use std::path::Path;

const POLES: &str = "id,line,set_date
    A1,North,2019
    A2,South,1970
    A3,North,1970";

const INSPECTIONS: &str = "id,date,method,verdict
    A1,2017-05-01,full_excavation,danger
    A2,2022-05-01,full_excavation,sound";

fn taken(decisions: Table) -> (Inventory, Problems) {
    let text = "plan_from = 2026-01-01\n[[poles]]\nfile = \"p\"\n[[inspections]]\nfile = \"i\"\n[[decisions]]\n\
        file = \"d\"\ncolumns = { pole = \"TAG\" }\ncodes = { decision = { HOLD = \"defer\" }, \
        method = { D4 = \"full_excavation\" }, action = { NEW = \"replace\" } }";
    let programme = read(text, Path::new("p.toml")).expect("a programme");
    let tables = Tables {
        poles: &[table("p", POLES)],
        inspections: &[table("i", INSPECTIONS)],
        decisions: &[decisions],
        ..Tables::default()
    };
    take_in_all(&tables, &programme).expect("tables")
}

const DECISIONS: &str =
    "TAG,line,decision,year,method,action,by,date,reason,interim control,review date
    A2,,Hold,2028,,,N. N.,2025-06-30,no crane,guyed,2027
    A2,,method,,D4,,,,,,
    ,South,action,2027,,new,,,,,
    ,North,leave out,,,,,,,,
    A3,,pin,2027,,,,2025-01-01,,,
    A3,,pin,2029,,,,2025-02-01,,,";

#[test]
fn decisions_are_read_with_the_owners_codes_and_tied_to_what_they_are_about() {
    let (inventory, problems) = taken(table("d", DECISIONS));
    let rows = inventory.decision_rows;
    assert_eq!((rows.read, rows.used, rows.set_aside), (6, 5, 1));
    let pole = |id| inventory.find(id).expect(id);
    let of: Vec<_> = inventory
        .decisions_on(pole("A2"))
        .map(|(_, own)| (own.kind, own.year, own.method))
        .collect();
    assert_eq!(
        of,
        [
            (DecisionKind::Method, None, Some(Method::FullExcavation)),
            (DecisionKind::Defer, Some(2028), None),
        ]
    );
    let (_, wait) = inventory
        .decisions_on(pole("A2"))
        .last()
        .expect("a deferral");
    assert_eq!(wait.review_date, Some(date(2027, 12, 31)));
    assert_eq!(wait.interim_control.as_deref(), Some("guyed"));
    let lines: Vec<_> = inventory
        .decisions
        .iter()
        .filter_map(|own| match own.target {
            Target::Line(line) => Some((inventory.names.get(line), own.kind, own.action)),
            _ => None,
        })
        .collect();
    assert_eq!(
        lines,
        [
            ("North", DecisionKind::LeaveOut, None),
            ("South", DecisionKind::Action, Some(Action::Replace)),
        ]
    );
    // The later of two pins counts.
    let (_, pin) = inventory.decisions_on(pole("A3")).next().expect("a pin");
    assert_eq!(pin.year, Some(2029));
    let codes: Vec<_> = problems.list.iter().map(|problem| problem.code).collect();
    assert!(codes.contains(&Code::ContradictingDecisions));
}

#[test]
fn the_order_of_the_rows_decides_nothing() {
    let plain = |table: Table| {
        let mut decisions = taken(table).0.decisions;
        for own in &mut decisions {
            own.source = crate::problem::Source::default();
        }
        decisions
    };
    let mut turned = table("d", DECISIONS);
    turned.rows.change(|rows| rows.reverse());
    assert_eq!(plain(turned), plain(table("d", DECISIONS)));
}

#[test]
fn a_clearing_settles_a_danger_that_a_later_set_date_hid() {
    // Judged dangerous in 2017, set in 2019 by the list: taken as the record of the pole that stood there before.
    let done = |decisions: &str| {
        let (_, problems) = taken(table("d", decisions));
        let hidden = |problem: &&crate::problem::Problem| problem.code == Code::PredecessorsRecord;
        let problem = problems.list.iter().find(hidden).expect("P506").clone();
        problem.done
    };
    let head = "TAG,decision,by,date,reason";
    let cleared = done(&format!(
        "{head}\nA1,clear,N. N.,2025-03-01,a new pole stands there"
    ));
    assert!(
        cleared.ends_with("; cleared by N. N. on 2025-03-01"),
        "{cleared}"
    );
    let too_early = done(&format!(
        "{head}\nA1,clear,N. N.,2016-03-01,a new pole stands there"
    ));
    assert!(!too_early.contains("cleared"), "{too_early}");
}
