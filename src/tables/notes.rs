//! What a workbook says beside its numbers: the assumptions that stand in for the owner's figures, and the cautions.

use super::{Holds, Sheet, Value, column};
use crate::programme::{Assumed, Programme};
use crate::words::Caution;
use crate::words::method::GROUNDLINE_ONLY;

/// Figures that nobody has confirmed, as the programme's keys name them.
pub fn assumptions(programme: &Programme) -> Sheet<'_> {
    let columns = vec![
        column(
            "key",
            Holds::Text,
            "key of the programme that sets it",
            |assumed: &&Assumed| Value::text(assumed.key),
        ),
        column("value", Holds::Text, "value taken", |assumed| {
            Value::text(assumed.value.as_str())
        }),
        column("mark", Holds::Text, "where it comes from", |assumed| {
            Value::text(assumed.mark)
        }),
    ];
    Sheet::new("assumptions", columns, programme.assumed.len(), |row| {
        &programme.assumed[row]
    })
}

/// Everything to beware of.
pub fn cautions() -> Sheet<'static> {
    let mut all: Vec<&'static str> = Caution::ALL.iter().map(|caution| caution.text()).collect();
    all.insert(1, GROUNDLINE_ONLY);
    let columns = vec![column(
        "caution",
        Holds::Text,
        "what to beware of",
        |text: &&'static str| Value::text(*text),
    )];
    Sheet::new("cautions", columns, all.len(), move |row| all[row])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::tests::{assert_typed, cell};
    use crate::words::sample;

    #[test]
    fn every_caution_and_every_assumed_figure_has_a_row() {
        let sheet = cautions();
        assert_typed(&sheet);
        assert_eq!(sheet.len, Caution::ALL.len() + 1);
        assert!(cell(&sheet, 0, "caution").contains("never clears a pole"));
        let programme = sample::programme();
        let sheet = assumptions(&programme);
        assert_typed(&sheet);
        assert_eq!(sheet.len, programme.assumed.len());
    }
}
