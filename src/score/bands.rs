//! Bands on how many of a group will be found below the limit, and how often they held.
//!
//! Draw `k` of a count takes the calibration's joint draw `k` of the shifts, and from each pole's chance there whether it
//! is found: so the poles of a line rise and fall together, as they do in the trials. Knows cases, not wood.

use super::exact::{Interval, share_interval};
use super::metrics::LEVEL;
use super::scores::Case;
use crate::belief::calibrate::Draws;
use crate::chance::{Key, Purpose, Slot};
use std::collections::BTreeMap;

/// Levels of the bands.
pub const LEVELS: [f64; 3] = [0.5, 0.8, 0.9];

/// By what poles are grouped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub enum GroupedBy {
    /// All of one as-of year together.
    Everything,
    /// Line.
    Line,
    /// Length and class.
    Size,
}

impl GroupedBy {
    /// All.
    pub const ALL: [Self; 3] = [Self::Everything, Self::Line, Self::Size];

    /// The word in tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Everything => "all",
            Self::Line => "line",
            Self::Size => "size",
        }
    }
}

/// How the bands of one level held.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Coverage {
    /// By what poles were grouped.
    pub grouped_by: GroupedBy,
    /// Level of the bands.
    pub level: f64,
    /// Groups.
    pub groups: usize,
    /// Groups whose count lay in its band.
    pub held: usize,
    /// Share of the groups that should: counts are whole, so a band holds at least its level.
    pub expected: f64,
    /// Exact interval of the share that did.
    pub interval: Interval,
    /// Mean of upper less lower end of the bands, poles.
    pub width: f64,
}

/// A group: what was found, and what each draw would have found.
struct Group {
    found: u32,
    drawn: Vec<u32>,
}

/// How the bands held on the cases of one as-of year.
pub fn coverage(cases: &[Case], draws: &Draws, seed: u64) -> Vec<Coverage> {
    GroupedBy::ALL
        .into_iter()
        .flat_map(|grouped_by| {
            let groups = groups(cases, draws, seed, grouped_by);
            LEVELS.map(|level| summed(grouped_by, level, &groups))
        })
        .collect()
}

/// The coverage of several years together: groups add.
pub fn together(parts: &[Coverage]) -> Vec<Coverage> {
    let mut sums: BTreeMap<(GroupedBy, u64), Vec<&Coverage>> = BTreeMap::new();
    for part in parts {
        sums.entry((part.grouped_by, part.level.to_bits()))
            .or_default()
            .push(part);
    }
    sums.into_values()
        .map(|parts| {
            let groups: usize = parts.iter().map(|part| part.groups).sum();
            let held = parts.iter().map(|part| part.held).sum();
            let mean = |value: fn(&Coverage) -> f64| {
                parts
                    .iter()
                    .map(|part| part.groups as f64 * value(part))
                    .sum::<f64>()
                    / groups.max(1) as f64
            };
            Coverage {
                groups,
                held,
                expected: mean(|part| part.expected),
                interval: share_interval(held, groups, LEVEL),
                width: mean(|part| part.width),
                ..*parts[0]
            }
        })
        .collect()
}

/// A line, or a size.
type GroupKey = (Option<usize>, Option<(Option<i64>, Option<String>)>);

fn groups(cases: &[Case], draws: &Draws, seed: u64, grouped_by: GroupedBy) -> Vec<Group> {
    let mut groups: BTreeMap<GroupKey, Group> = BTreeMap::new();
    let count = draws.theta.first().map_or(0, Vec::len);
    for case in cases {
        let key = match grouped_by {
            GroupedBy::Everything => (None, None),
            GroupedBy::Line => (Some(case.area), None),
            GroupedBy::Size => (None, Some(case.size.clone())),
        };
        let group = groups.entry(key).or_insert_with(|| Group {
            found: 0,
            drawn: vec![0; count],
        });
        group.found += u32::from(case.rejected);
        let own = Key::of(
            seed,
            &format!("hindcast of {} as of {}", case.id, case.as_of),
        );
        for (number, drawn) in (0..).zip(&mut group.drawn) {
            let steps =
                draws.theta[case.slot][number as usize] + draws.area[case.area][number as usize];
            let chance = f64::from(case.chances.by_node[draws.node(number as usize, steps)]);
            *drawn += u32::from(own.uniform(number, Slot::new(Purpose::Find, 0, 0)) < chance);
        }
    }
    groups.into_values().collect()
}

fn summed(grouped_by: GroupedBy, level: f64, groups: &[Group]) -> Coverage {
    let (mut held, mut expected, mut width) = (0, 0.0, 0.0);
    for group in groups {
        let (low, high) = band(&group.drawn, level);
        let inside = |count: u32| (low..=high).contains(&count);
        held += usize::from(inside(group.found));
        let drawn = group.drawn.iter().filter(|count| inside(**count)).count();
        expected += drawn as f64 / group.drawn.len().max(1) as f64;
        width += f64::from(high - low);
    }
    let number = groups.len().max(1) as f64;
    Coverage {
        grouped_by,
        level,
        groups: groups.len(),
        held,
        expected: expected / number,
        interval: share_interval(held, groups.len(), LEVEL),
        width: width / number,
    }
}

/// The central band of the drawn counts: as many draws below as above.
fn band(drawn: &[u32], level: f64) -> (u32, u32) {
    let mut sorted = drawn.to_vec();
    sorted.sort_unstable();
    let Some(last) = sorted.len().checked_sub(1) else {
        return (0, 0);
    };
    // A tenth of a hundred draws is ten, though in binary it comes out a hair below.
    let cut = ((1.0 - level) / 2.0 * sorted.len() as f64 + ROUNDING).floor() as usize;
    (sorted[cut.min(last)], sorted[last - cut.min(last)])
}

/// What arithmetic may take from a whole number of draws.
const ROUNDING: f64 = 1e-6;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_band_leaves_as_many_draws_below_as_above() {
        let drawn: Vec<u32> = (0..100).rev().collect();
        assert_eq!(band(&drawn, 0.8), (10, 89));
        assert_eq!(band(&drawn, 0.5), (25, 74));
        assert_eq!(band(&[], 0.5), (0, 0));
    }

    #[test]
    fn whole_counts_hold_more_than_their_level() {
        // 95 of 100 draws find nothing: the 50 % band is 0 to 0 and holds 95 %.
        let drawn: Vec<u32> = (0..100).map(|draw| u32::from(draw >= 95)).collect();
        let group = |found| Group {
            found,
            drawn: drawn.clone(),
        };
        let half = summed(GroupedBy::Line, 0.5, &[group(0), group(1)]);
        assert_eq!((half.groups, half.held), (2, 1));
        assert!((half.expected - 0.95).abs() < 1e-12 && half.width.abs() < 1e-12);
        let twice = together(&[half, half]);
        assert_eq!((twice[0].groups, twice[0].held), (4, 2));
    }
}
