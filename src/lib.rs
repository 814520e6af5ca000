//! polewright plans the inspection, treatment and replacement of installed wooden poles.
//!
//! Five plain values follow from each other, each made by one pure function: an [`Inventory`] and what is wrong with it
//! ([`intake`]), [`Beliefs`] about every pole's wood ([`belief`]), a [`Schedule`] ([`mod@schedule`]), and a [`Forecast`] of
//! what will have to be replaced ([`mod@trial`]). [`plan()`] makes the last three. Figures about wood are [`Models`], decisions
//! of the owner a [`Programme`]. Without default features the crate opens no file and knows no terminal.
//!
//! A plan sets priorities. It never clears a pole for climbing, loading or work.
//!
//! ```
//! use polewright::{intake, models, plan, programme};
//!
//! let text = "plan_from = 2026-01-01\ntrials = 50\n[[poles]]\nfile = \"poles.csv\"";
//! let programme = programme::text::read(text, "programme.toml".as_ref())?;
//! let row = |line, cells: [&str; 4]| (line, cells.map(String::from).to_vec());
//! let poles = intake::Table {
//!     file: "poles.csv".to_owned(),
//!     columns: ["id", "set_date", "species", "preservative"].map(String::from).to_vec(),
//!     rows: vec![row(2, ["A-1", "1968", "pine", "creosote"]), row(3, ["A-2", "2019", "pine", "creosote"])].into(),
//!     ..intake::Table::default()
//! };
//! let (inventory, problems) = intake::take_in(&[poles], &[], &programme)?;
//! assert!(problems.list.is_empty());
//!
//! let plan = plan(&inventory, &models::text::built_in()?, &programme)?;
//! let [old, new] = [0, 1].map(|pole| plan.beliefs.summaries[pole].below_limit[0]);
//! assert!(old > new);
//! # Ok::<(), polewright::Error>(())
//! ```

pub mod belief;
pub mod chance;
#[cfg(feature = "cli")]
pub mod cli;
pub mod compare;
pub mod error;
pub mod explain;
pub mod intake;
pub mod invent;
pub mod inventory;
#[cfg(feature = "files")]
pub mod io;
pub mod maths;
pub mod models;
pub mod parallel;
pub mod plan;
pub mod pole;
pub mod problem;
pub mod programme;
pub mod projection;
#[cfg(feature = "report")]
pub mod report;
pub mod schedule;
pub mod score;
pub mod sensitivity;
pub mod space;
pub mod supply;
pub mod tables;
pub mod trial;
pub mod units;
pub mod wood;
pub mod words;

pub use belief::Beliefs;
pub use error::Error;
pub use inventory::Inventory;
pub use models::Models;
pub use plan::{Plan, plan};
pub use programme::Programme;
pub use schedule::Schedule;
pub use supply::Orders;
pub use trial::Forecast;

/// Tests in and outside the library share one set of small inventories, which names the crate as users do.
#[cfg(test)]
extern crate self as polewright;
#[cfg(test)]
#[path = "../tests/common/mod.rs"]
mod common;
