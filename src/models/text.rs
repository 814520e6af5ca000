//! TOML to models.

use super::Models;
use crate::Error;

/// The models compiled into the program.
///
/// # Errors
/// When a file of `models/` is not a valid model; a test keeps this from happening in a release.
pub fn built_in() -> Result<Models, Error> {
    unimplemented!()
}

/// The models in texts given as (file name, TOML).
///
/// # Errors
/// When a text is not a valid model.
pub fn read(_texts: &[(String, String)]) -> Result<Models, Error> {
    unimplemented!()
}
