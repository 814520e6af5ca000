//! What is bought as one thing: a size to put in, a species and a preservative, with the groups of poles that ask for it,
//! the stock that answers and what the owner needs besides.

use super::bulk::{Bulk, bulk};
use super::stands;
use crate::inventory::Inventory;
use crate::pole::{PoleClass, Preservative, Species};
use crate::programme::Programme;
use crate::programme::supply::SizeName;
use crate::trial::{Group, tally};
use crate::units::{Date, days_between};
use crate::wood::Sizes;

/// Days in a year (Gregorian calendar).
const DAYS_PER_YEAR: f64 = 365.2425;

/// Poles that are bought as one thing.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    pub size: SizeName,
    pub species: Option<Species>,
    pub preservative: Option<Preservative>,
    /// Places of the groups.
    pub groups: Vec<usize>,
    /// Places of the owner's other demand.
    pub given: Vec<usize>,
    /// Poles of the groups in the list.
    pub listed: usize,
    pub on_hand: u32,
    /// What is on order, and when it comes where that is said.
    on_order: Vec<(u32, Option<Date>)>,
    /// One pole, where its class is one of the tables.
    pub bulk: Option<Bulk>,
}

impl Line {
    const fn new(
        size: SizeName,
        species: Option<Species>,
        preservative: Option<Preservative>,
    ) -> Self {
        Self {
            size,
            species,
            preservative,
            groups: Vec::new(),
            given: Vec::new(),
            listed: 0,
            on_hand: 0,
            on_order: Vec::new(),
            bulk: None,
        }
    }

    /// What is on order and comes within so many years of the plan date.
    pub fn on_order_by(&self, programme: &Programme, years: f64) -> u32 {
        let comes = |day: Option<Date>| {
            day.is_none_or(|day| {
                f64::from(days_between(programme.plan_from, day)) / DAYS_PER_YEAR < years
            })
        };
        let mine = self.on_order.iter().filter(|(_, day)| comes(*day));
        mine.map(|(poles, _)| poles).sum()
    }

    /// Whether a word of a stock or demand is about this line: what it leaves open fits anything.
    fn is_of(
        &self,
        size: &SizeName,
        species: Option<Species>,
        preservative: Option<Preservative>,
    ) -> bool {
        self.size.is(size)
            && species.is_none_or(|own| self.species == Some(own))
            && preservative.is_none_or(|own| self.preservative == Some(own))
    }
}

/// All lines, in the order of groups, then those that only a stock or a demand names.
pub(super) fn lines(
    inventory: &Inventory,
    programme: &Programme,
    sizes: &Sizes,
    groups: &[Group],
) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    let mut line_of = Vec::with_capacity(groups.len());
    for (place, group) in groups.iter().enumerate() {
        let same = |line: &Line| {
            line.size.is(&group.new)
                && line.species == group.species
                && line.preservative == group.preservative
        };
        let line = lines.iter().position(same).unwrap_or_else(|| {
            lines.push(Line::new(
                group.new.clone(),
                group.species,
                group.preservative,
            ));
            lines.len() - 1
        });
        lines[line].groups.push(place);
        line_of.push(line);
    }
    let (_, group_of) = tally::groups(inventory, programme);
    for (pole, group) in inventory.poles().iter().zip(group_of) {
        lines[line_of[group]].listed += usize::from(stands(pole.status));
    }
    add_given(programme, &mut lines);
    add_stock(programme, &mut lines);
    // Class names mean loads of the tables only where the list was read that way.
    let of_tables = inventory
        .poles()
        .iter()
        .any(|pole| pole.size_class.is_some());
    for line in lines.iter_mut().filter(|_| of_tables) {
        let class = line.size.class.as_deref().and_then(PoleClass::from_word);
        line.bulk = class
            .zip(line.size.length)
            .and_then(|(class, length)| bulk(sizes, line.species, class, length));
    }
    lines
}

fn add_given(programme: &Programme, lines: &mut Vec<Line>) {
    let policy = &programme.policy;
    for (place, own) in programme.supply.other_demand.iter().enumerate() {
        let known = lines
            .iter()
            .position(|line| line.is_of(&own.size, own.species, own.preservative));
        let line = known.unwrap_or_else(|| {
            lines.push(Line::new(
                own.size.clone(),
                own.species.or(policy.new_species),
                own.preservative.or(policy.new_preservative),
            ));
            lines.len() - 1
        });
        lines[line].given.push(place);
    }
}

/// Stock goes to the first line that it fits: of what it leaves open the programme says no more.
fn add_stock(programme: &Programme, lines: &mut Vec<Line>) {
    for own in &programme.supply.stock {
        let known = lines
            .iter()
            .position(|line| line.is_of(&own.size, own.species, own.preservative));
        let line = known.unwrap_or_else(|| {
            lines.push(Line::new(own.size.clone(), own.species, own.preservative));
            lines.len() - 1
        });
        lines[line].on_hand += own.on_hand;
        lines[line].on_order.push((own.on_order, own.arrives));
    }
}

/// Groups by the size of the pole that stands.
pub(super) fn by_old_size(inventory: &Inventory, groups: &[Group]) -> Vec<(SizeName, Vec<usize>)> {
    let mut all: Vec<(SizeName, Vec<usize>)> = Vec::new();
    for (place, group) in groups.iter().enumerate() {
        let size = SizeName {
            length: group.old.length,
            class: group
                .old
                .class
                .map(|class| inventory.names.get(class).to_owned()),
        };
        match all.iter_mut().find(|(known, _)| known.is(&size)) {
            Some((_, places)) => places.push(place),
            None => all.push((size, vec![place])),
        }
    }
    all
}
