//! Lists that are mostly not of wood: what they leave open of a pole's material is told of, file by file.
//!
//! A pole whose material is not recorded is taken as wood, since most lists of wooden poles have no such column. In a list
//! of street lights, most of them of metal, that is doubtful. Nothing is taken out.

use super::table::Bound;
use super::words::{Coded, read_material};
use crate::pole::Material;
use crate::problem::{Code, Problem};
use crate::programme::sources::Field;

/// The problem of a file in which fewer than half of the rows that say a material say wood, at the first row that says
/// none; `None` for any other file.
pub(super) fn doubtful(bound: &Bound<'_>) -> Option<Problem> {
    if !bound.has(Field::Material) {
        return None;
    }
    let (mut wood, mut other, mut open, mut first) = (0, 0, 0, None);
    for row in bound.rows() {
        match read_material(row) {
            Coded::Known(Material::Wood) => wood += 1,
            Coded::Known(Material::Other) => other += 1,
            Coded::Blank | Coded::Unmapped => {
                open += 1;
                first = first.or(Some(row));
            }
        }
    }
    let row = first.filter(|_| other > wood)?;
    let what = format!(
        "{} without a material that is known; of those that give one {wood} {} of wood and {other} not",
        super::counted(open, "row"),
        if wood == 1 { "is" } else { "are" }
    );
    let code = Code::DoubtfulMaterial;
    Some(row.problem(code, Field::Material, "", what, "taken as wood"))
}
