//! `report.html`: a plan as one page that needs nothing else, for office, truck and paper; and the sheets of a round and of
//! the year's replacements, which go out to the poles.
//!
//! Values in, text out: opens no file and knows no clock, so the same plan gives the same bytes. Sentences come from
//! [`words`](crate::words) and columns from [`tables`](crate::tables): the page says nothing a second way. What a browser
//! does is in `assets/`; the data travel as compressed columns (`pack`) and reach the page as text only.

mod assumed;
mod budget;
mod charts;
mod duties;
mod estimate;
mod field_sheet;
mod glance;
mod history;
mod html;
mod learned;
mod looked_back;
mod map;
mod outlook;
mod pack;
mod page;
mod replacements;
mod sketch;
mod supplier;

pub use estimate::{Estimate, estimate};
pub use field_sheet::field_sheet;
pub use looked_back::{LookedBack, ReliabilityBin};
pub use page::page;
pub use replacements::replacements;

use crate::problem::Problems;
use crate::score::compliance::Line;
use crate::words::{Case, Overview};
use std::collections::BTreeMap;

/// Where the page comes from: without a clock, so that the same run gives the same page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Provenance {
    /// Name and version of the program.
    pub program: (&'static str, &'static str),
    /// Who made the plan, when they said so.
    pub prepared_by: Option<String>,
    /// Digests of the inputs, by the name that the programme gives them.
    pub digests: BTreeMap<String, String>,
    /// Keys of the programme replaced on the command line.
    pub set: Vec<String>,
}

/// Everything that the page shows.
#[derive(Debug, Clone, Copy)]
pub struct Report<'a> {
    /// The plan; its pole is of no meaning here.
    pub fleet: Case<'a>,
    /// What is wrong with the data.
    pub problems: &'a Problems,
    /// The plan in one look.
    pub overview: &'a Overview,
    /// What rules called for and what was done.
    pub duties: &'a [Line],
    /// What a look back found, where one was run.
    pub looked_back: Option<&'a LookedBack>,
    /// Where the page comes from.
    pub provenance: &'a Provenance,
}

#[cfg(test)]
mod tests;
