//! The table of problem codes.

/// How bad a problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing.
    Note,
    /// The record is used; part of it is treated as unknown.
    Warning,
    /// The record cannot be used as it stands.
    Error,
}

/// A kind of problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Code {
    /// No id.
    NoId,
}

impl Code {
    /// All codes.
    pub const ALL: [Self; 1] = [Self::NoId];

    /// How bad it is.
    pub const fn severity(self) -> Severity {
        Severity::Error
    }
}
