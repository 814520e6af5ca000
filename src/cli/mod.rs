//! The command line.

pub mod curves;
pub mod strength;

use std::io;

use crate::Error;

/// An error of writing to the terminal, as ours.
fn written(result: io::Result<()>) -> Result<(), Error> {
    result.map_err(|cause| Error::File {
        path: "standard output".into(),
        cause,
    })
}
