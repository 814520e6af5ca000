//! What was learned of the figures that findings are read with, said in the owner's words.

use super::quantities::to_figures;
use crate::belief::nuisances::Learned;
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::belief::nuisances::Nuisance;

    #[test]
    fn a_figure_beyond_the_tables_is_not_trusted() {
        let line_of = |pinned| {
            line(&UncertainFigure::of(&Learned {
                of: Nuisance::Sensitivity,
                prior: [-0.13, 0.0, 0.13],
                posterior: [-0.2, -0.1, -0.01],
                pinned,
            }))
        };
        assert!(line_of(true).contains("NOT TO BE TRUSTED"));
        let usual = line_of(false);
        assert!(
            usual.ends_with("-0.1 (-0.2 to -0.01) with your inspections"),
            "{usual}"
        );
    }
}
