//! Packages: lines cut into stretches of about a crew-week, and who goes along when a stretch is visited.
//!
//! Contractors inspect every pole on a line, so a visit takes the whole stretch but for exempt poles; the policy may
//! want neighbourhoods on the map instead, whatever the line. Where no pole of a
//! line has a place in it, and for the poles of no line, neighbours on the map go together; what has no coordinates
//! either goes in the order of ids. Knows neither beliefs nor years with room: [`solve`](super::solve) decides
//! when a stretch is visited.

use super::due::Duty;
use super::{Package, PackageIndex};
use crate::inventory::Inventory;
use crate::pole::{Method, NameIndex, Place, PoleIndex, Vocabulary};
use crate::programme::{Programme, Round};
use crate::space::neighbourhoods;
use crate::units::years_between;
use std::collections::BTreeMap;

/// Crew-days of one stretch: a crew-week.
const CREW_DAYS_IN_A_STRETCH: f64 = 5.0;

/// Poles walked together.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Name: the line and the part of it.
    pub name: String,
    /// The line; `None` for poles of no line, and of several.
    pub line: Option<NameIndex>,
    /// The poles, in walking order.
    pub poles: Vec<PoleIndex>,
}

/// Crew-days that one inspection by a method takes; infinite where the programme gives no productivity.
pub fn days_for_one(programme: &Programme, method: Method) -> f64 {
    let poles = programme.crews.poles_per_crew_day[method.index()];
    if poles > 0.0 {
        1.0 / poles
    } else {
        f64::INFINITY
    }
}

/// Cuts every line into stretches of about a crew-week, of as equal size as can be: in the order of sequence where the
/// list has one, by neighbourhood where it has coordinates, by id otherwise.
pub fn stretches(
    inventory: &Inventory,
    programme: &Programme,
    poles: &[PoleIndex],
) -> Vec<Stretch> {
    let mut lines: BTreeMap<Option<NameIndex>, Vec<PoleIndex>> = BTreeMap::new();
    for pole in poles {
        lines
            .entry(inventory.pole(*pole).line)
            .or_default()
            .push(*pole);
    }
    let week = CREW_DAYS_IN_A_STRETCH / days_for_one(programme, programme.policy.method);
    let parts_of = |members: usize| (members as f64 / week.max(1.0)).round().max(1.0) as usize;
    let mut all = Vec::new();
    if programme.policy.round == Round::Neighbourhood {
        all = neighbourhoods_of_poles(inventory, poles, parts_of);
        for members in lines.values_mut() {
            members.retain(|pole| inventory.pole(*pole).place.is_none());
        }
        lines.retain(|_, members| !members.is_empty());
    }
    for (line, members) in lines {
        let has_sequence = members
            .iter()
            .any(|pole| inventory.pole(*pole).sequence.is_some());
        let (placed, others): (Vec<PoleIndex>, Vec<PoleIndex>) = members
            .into_iter()
            .partition(|pole| !has_sequence && inventory.pole(*pole).place.is_some());
        let near = cut_by_place(inventory, &placed, parts_of(placed.len()));
        let listed = cut_in_order(inventory, others, parts_of);
        let parts: Vec<Vec<PoleIndex>> = near.into_iter().chain(listed).collect();
        let count = parts.len();
        for (part, poles) in parts.into_iter().enumerate() {
            let name = stretch_name(inventory, line, part + 1, count);
            all.push(Stretch { name, line, poles });
        }
    }
    all
}

/// Neighbourhoods of all poles that have coordinates, whatever their lines.
fn neighbourhoods_of_poles(
    inventory: &Inventory,
    poles: &[PoleIndex],
    parts_of: impl Fn(usize) -> usize,
) -> Vec<Stretch> {
    let placed = poles.iter().copied();
    let placed: Vec<PoleIndex> = placed
        .filter(|pole| inventory.pole(*pole).place.is_some())
        .collect();
    let parts = cut_by_place(inventory, &placed, parts_of(placed.len()));
    let count = parts.len();
    let stretch = |(part, poles): (usize, Vec<PoleIndex>)| {
        let line = inventory.pole(poles[0]).line;
        let same = poles.iter().all(|pole| inventory.pole(*pole).line == line);
        Stretch {
            name: format!("neighbourhood {} of {count}", part + 1),
            line: line.filter(|_| same),
            poles,
        }
    };
    parts.into_iter().enumerate().map(stretch).collect()
}

/// Neighbourhoods of poles that have coordinates but no place in their line.
fn cut_by_place(inventory: &Inventory, poles: &[PoleIndex], parts: usize) -> Vec<Vec<PoleIndex>> {
    let places: Vec<Place> = poles
        .iter()
        .filter_map(|pole| inventory.pole(*pole).place)
        .collect();
    neighbourhoods(&places, parts)
        .into_iter()
        .filter(|part| !part.is_empty())
        .map(|part| part.into_iter().map(|place| poles[place]).collect())
        .collect()
}

/// Stretches of poles in the order of their sequence, then their ids.
fn cut_in_order(
    inventory: &Inventory,
    mut poles: Vec<PoleIndex>,
    parts_of: impl Fn(usize) -> usize,
) -> Vec<Vec<PoleIndex>> {
    if poles.is_empty() {
        return Vec::new();
    }
    poles.sort_by_key(|pole| {
        let sequence = inventory.pole(*pole).sequence;
        (sequence.is_none(), sequence, *pole)
    });
    let parts = parts_of(poles.len());
    (0..parts)
        .map(|part| {
            let [from, to] = [part, part + 1].map(|cut| cut * poles.len() / parts);
            poles[from..to].to_vec()
        })
        .collect()
}

fn stretch_name(
    inventory: &Inventory,
    line: Option<NameIndex>,
    part: usize,
    parts: usize,
) -> String {
    match (line.map(|line| inventory.names.get(line)), parts) {
        (Some(line), 1) => line.to_owned(),
        (Some(line), _) => format!("{line}, stretch {part} of {parts}"),
        (None, 1) => "poles of no line".to_owned(),
        (None, _) => format!("poles of no line, group {part} of {parts}"),
    }
}

/// Whether a pole that no rule calls for yet is left out when its stretch is visited in a plan year: inspected not long
/// before, or still so young that its own first inspection is more than half an interval away. A pole that no rule binds
/// is left out too.
pub fn is_exempt(
    inventory: &Inventory,
    programme: &Programme,
    pole: PoleIndex,
    duty: &Duty,
    year: u16,
) -> bool {
    let Some(due) = duty.due else {
        return true;
    };
    let visit = programme.year_start(i32::from(year));
    if let Some(last) = duty.last {
        return years_between(last, visit) < programme.policy.exempt_inspected_within_years;
    }
    let rule = &programme.inspections[due.rule];
    inventory.pole(pole).installed.is_some_and(|set| {
        years_between(set, visit) < rule.first_age_years - rule.repeat_years / 2.0
    })
}

/// The packages of planned inspections, given as (stretch, year, method) for each pole: one for each stretch, year and
/// method, in the order of years and stretches; and each pole's package.
pub fn pack(
    programme: &Programme,
    stretches: &[Stretch],
    planned: impl Fn(PoleIndex) -> Option<(u16, Method)>,
) -> (Vec<Package>, BTreeMap<PoleIndex, PackageIndex>) {
    let mut groups: BTreeMap<(u16, usize, Method), Vec<PoleIndex>> = BTreeMap::new();
    for (place, stretch) in stretches.iter().enumerate() {
        for pole in &stretch.poles {
            if let Some((year, method)) = planned(*pole) {
                groups.entry((year, place, method)).or_default().push(*pole);
            }
        }
    }
    let mut packages = Vec::with_capacity(groups.len());
    let mut package_of = BTreeMap::new();
    for ((year, place, method), poles) in groups {
        let index = PackageIndex(packages.len() as u32);
        package_of.extend(poles.iter().map(|pole| (*pole, index)));
        let stretch = &stretches[place];
        packages.push(Package {
            name: package_name(programme, stretch, year, method),
            line: stretch.line,
            year: Some(year),
            crew_days: poles.len() as f64 * days_for_one(programme, method),
            poles,
            method,
        });
    }
    (packages, package_of)
}

/// The stretch and the calendar year in which the plan year begins; the method too where it is not the policy's, so that
/// no two packages share a name.
fn package_name(programme: &Programme, stretch: &Stretch, year: u16, method: Method) -> String {
    let label = programme.year_start(i32::from(year)).year();
    if method == programme.policy.method {
        format!("{}, {label}", stretch.name)
    } else {
        let method = method.word().replace('_', " ");
        format!("{}, {label}, {method}", stretch.name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, inventory_of, pole_set, programme};
    use crate::pole::{Pole, Verdict};
    use crate::schedule::due::duty;
    use jiff::civil::date;

    #[test]
    fn a_long_line_is_cut_into_crew_weeks_in_walking_order() {
        // 45 poles a crew-day by partial excavation: a crew-week is 225 poles, 450 poles are two.
        let ids: Vec<String> = (0..450).map(|number| format!("P-{number:03}")).collect();
        let poles = ids.iter().enumerate().map(|(number, id)| {
            let pole = Pole {
                sequence: Some(450 - number as i32),
                ..pole_set(1980)
            };
            (id.as_str(), "L", pole, Vec::new())
        });
        let inventory = inventory_of(poles.collect());
        let all: Vec<PoleIndex> = inventory.indices().collect();
        let cut = stretches(&inventory, &programme(), &all);
        let sizes: Vec<usize> = cut.iter().map(|stretch| stretch.poles.len()).collect();
        assert_eq!(sizes, [225, 225]);
        assert_eq!(cut[0].poles[0], PoleIndex(449));
        assert_eq!(cut[1].name, "L, stretch 2 of 2");
    }

    #[test]
    fn poles_of_no_line_stay_together_and_short_lines_whole() {
        let inventory = inventory_of(vec![
            ("P-1", "", pole_set(1980), Vec::new()),
            ("P-2", "L", pole_set(1980), Vec::new()),
            ("P-3", "", pole_set(1980), Vec::new()),
        ]);
        let all: Vec<PoleIndex> = inventory.indices().collect();
        let cut = stretches(&inventory, &programme(), &all);
        assert_eq!(cut[0].poles, [PoleIndex(0), PoleIndex(2)]);
        assert_eq!(cut[0].line, None);
        assert_eq!(cut[1].name, "L");
    }

    #[test]
    fn the_young_and_the_recently_inspected_stay_out_of_a_round() {
        let programme = programme();
        let seen = |year| inspected(date(year, 1, 1), Method::PartialExcavation, Verdict::Sound);
        let exempt = |pole: Pole, findings, year| {
            let inventory = inventory_of(vec![("P-1", "L", pole, findings)]);
            let duty = duty(&inventory, &programme, PoleIndex(0));
            is_exempt(&inventory, &programme, PoleIndex(0), &duty, year)
        };
        // Left out within 5 years of an inspection; first inspection at 12 years, repeat 10: left out below 7 years.
        assert!(exempt(pole_set(1980), vec![seen(2022)], 0));
        assert!(!exempt(pole_set(1980), vec![seen(2022)], 3));
        assert!(exempt(pole_set(2020), Vec::new(), 0));
        assert!(!exempt(pole_set(2020), Vec::new(), 3));
        let undated = Pole {
            installed: None,
            ..pole_set(2020)
        };
        assert!(!exempt(undated, Vec::new(), 0));
    }
}
