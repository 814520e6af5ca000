//! TOML to programme.

use super::Programme;
use crate::Error;
use std::path::Path;

/// The programme in a TOML text; `path` is only for messages.
///
/// # Errors
/// On what is not TOML, unknown keys, missing keys and impossible values.
pub fn read(_text: &str, _path: &Path) -> Result<Programme, Error> {
    unimplemented!()
}
