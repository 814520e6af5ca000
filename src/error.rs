//! Why a run cannot go on: one error, with the place that it is about and what would help.

use std::path::PathBuf;

/// Why a run cannot go on. Faults of single records are [`Problem`](crate::problem::Problem)s, never this.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// A file or folder could not be read or written.
    #[error("{path}: {cause}")]
    File {
        /// The file or folder.
        path: PathBuf,
        /// What the operating system said.
        cause: std::io::Error,
    },
    /// A file is not what it should be: not a table, not a layer, empty.
    #[error("{path}: {what} (help: {help})")]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        what: String,
        /// What would help.
        help: String,
    },
    /// The programme does not say what is needed, or says what cannot be.
    #[error("{path}: {what} (help: {help})")]
    Programme {
        /// The programme's file.
        path: PathBuf,
        /// What is wrong, with the line where one is known.
        what: String,
        /// What would help.
        help: String,
    },
    /// A number or word on the command line cannot be.
    #[error("{what} (help: {help})")]
    Argument {
        /// What is wrong.
        what: String,
        /// What would help.
        help: String,
    },
    /// A model file is not valid.
    #[error("models/{file}: {what}")]
    Model {
        /// The model's file.
        file: String,
        /// What is wrong.
        what: String,
    },
    /// Codes of verdicts or methods that the programme does not map: the run would misread the owner's findings.
    #[error("{file}, column {column}: {values} (help: {help})")]
    UnmappedCodes {
        /// The file.
        file: String,
        /// The owner's column.
        column: String,
        /// The codes with their counts.
        values: String,
        /// What would help.
        help: String,
    },
    /// There is nothing to plan for.
    #[error("no pole is left to plan for: {what} (help: {help})")]
    NothingToPlan {
        /// Where the rows went.
        what: String,
        /// What would help.
        help: String,
    },
    /// The output folder cannot be used.
    #[error("{path}: {what} (help: {help})")]
    Output {
        /// The folder.
        path: PathBuf,
        /// What is wrong.
        what: String,
        /// What would help.
        help: String,
    },
    /// The plan broke one of its own promises: a fault of this program, not of the data.
    #[error("the plan was not written, because its own audit found: {0}")]
    Audit(String),
}
