//! The command line: each command reads, calls the library and writes.

pub mod check;
