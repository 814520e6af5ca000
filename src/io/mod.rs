//! Files: the only place, with the command line, that opens any.

mod beside;
pub mod folder;
pub mod guard;
pub mod layers;
pub mod look_back;
pub mod parquet;
pub mod read;
pub mod record;
pub mod workbook;

pub use beside::write_whole;
