//! polewright plans the inspection, treatment and replacement of installed wooden poles.

pub mod belief;
pub mod chance;
#[cfg(feature = "cli")]
pub mod cli;
pub mod error;
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
pub mod schedule;
pub mod space;
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
pub use trial::Forecast;

/// Tests in and outside the library share one set of small inventories, which names the crate as users do.
#[cfg(test)]
extern crate self as polewright;
#[cfg(test)]
#[path = "../tests/common/mod.rs"]
mod common;
