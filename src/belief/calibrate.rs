//! Learning from the owner's own inspections (model section 4).

use crate::models::CellIndex;

/// What was learned about one curve cell.
#[derive(Debug, Clone, PartialEq)]
pub struct CellLearning {
    /// The cell.
    pub cell: CellIndex,
    /// Poles of this cell.
    pub poles: usize,
    /// Poles with at least one inspection that says something about the wood.
    pub poles_with_findings: usize,
    /// Inspections used.
    pub findings: usize,
    /// Published median life with its 90 % interval between fleets, years (5 %, 50 %, 95 %).
    pub published: [f64; 3],
    /// The owner's median life with its 90 % interval, years (5 %, 50 %, 95 %).
    pub owners: [f64; 3],
}

/// What a run learned.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// One entry a cell that has poles.
    pub cells: Vec<CellLearning>,
}
