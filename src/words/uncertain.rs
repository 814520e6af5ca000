//! What was learned of the figures that findings are read with, said in the owner's words.

use super::quantities::to_figures;
use crate::belief::nuisances::{Learned, Nuisance};
use serde::Serialize;

/// One uncertain figure before and after the owner's findings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UncertainFigure {
    /// What it is.
    pub what: &'static str,
    /// Published or proposed: 5 %, 50 % and 95 %.
    pub before: [f64; 3],
    /// With the findings.
    pub with_findings: [f64; 3],
    /// Whether the findings push it beyond what the tables allow.
    pub contradicted: bool,
}

impl UncertainFigure {
    /// The figure as outputs give it.
    pub fn of(learned: &Learned) -> Self {
        Self {
            what: learned.of.word(),
            before: learned.prior,
            with_findings: learned.posterior,
            contradicted: learned.pinned,
        }
    }
}

/// One line: before, with the findings, and whether that can be trusted.
pub fn line(figure: &UncertainFigure) -> String {
    let range = |values: [f64; 3]| {
        let [low, middle, high] = values.map(|value| to_figures(value + 0.0, 2));
        format!("{middle} ({low} to {high})")
    };
    format!(
        "{}: {} by the tables, {} with your inspections{}",
        figure.what,
        range(figure.before),
        range(figure.with_findings),
        if figure.contradicted {
            "; NOT TO BE TRUSTED: the inspections push it beyond what the tables allow"
        } else {
            ""
        }
    )
}

/// The figure whose doubt is named first: whatever the findings contradict, else the protected share.
pub fn first(figures: &[Learned]) -> Option<UncertainFigure> {
    let contradicted = figures.iter().find(|one| one.pinned);
    let usual = figures
        .iter()
        .find(|one| one.of == Nuisance::ProtectedShare);
    contradicted.or(usual).map(UncertainFigure::of)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_beyond_the_tables_is_named_first_and_not_trusted() {
        let figure = |of, pinned| Learned {
            of,
            prior: [-0.13, 0.0, 0.13],
            posterior: [-0.2, -0.1, -0.01],
            pinned,
        };
        let usual = figure(Nuisance::ProtectedShare, false);
        let far = figure(Nuisance::Sensitivity, true);
        let named = first(&[usual, far]).expect("a figure");
        assert!(line(&named).contains("NOT TO BE TRUSTED"));
        let named = first(&[usual]).expect("a figure");
        assert!(
            line(&named).ends_with("-0.1 (-0.2 to -0.01) with your inspections"),
            "{}",
            line(&named)
        );
        assert_eq!(first(&[]), None);
    }
}
