//! Files: the only place, with the command line, that opens any.

pub mod read;
