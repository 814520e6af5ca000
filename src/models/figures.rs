//! The figures that belong to no kind of pole: detection by method, early failures, failure in wind.

use toml::Spanned;

use super::check::{Check, Expect, ExpectOfMethod};
use super::file::File;
use super::twins::{DetectionText, ExpectOfMethodText, HazardText, MethodCheckText, MethodText};
use super::{HazardFigures, Origin};
use crate::Error;
use crate::pole::{Method, Vocabulary};
use crate::wood::detection::solve_false_reject;
use crate::wood::{Detection, LifeCurve, MethodDetection};

/// What `detection.toml` says.
pub(super) struct DetectionRead {
    pub detection: Detection,
    pub origin: Origin,
    pub ranges: [[f64; 2]; Method::ALL.len()],
    pub origins: [Origin; Method::ALL.len()],
    pub checks: Vec<Check>,
}

/// `detection.toml`.
pub(super) fn read_detection(file: File) -> Result<DetectionRead, Error> {
    let text: DetectionText = file.parse()?;
    let hidden = text.hidden.get_ref();
    file.origin(&hidden.mark, &hidden.text)?;
    let rows = text.method.get_ref();
    let mut methods = Vec::new();
    for method in Method::ALL {
        let mut named = rows
            .iter()
            .filter(|row| row.get_ref().name == method.word());
        let (Some(row), None) = (named.next(), named.next()) else {
            let what = format!(
                "method {} needs one [[method]] row, no more and no less",
                method.word()
            );
            return Err(file.wrong(text.method.span(), &what));
        };
        let origin = file.origin(&row.get_ref().mark, &row.get_ref().text)?;
        methods.push((
            read_method(file, row)?,
            row.get_ref().sensitivity_range,
            origin,
        ));
    }
    if rows.len() != Method::ALL.len() {
        return Err(file.wrong(text.method.span(), "a [[method]] row names no method"));
    }
    if text.check.is_empty() {
        return Err(file.whole("a model needs at least one [[check]]"));
    }
    let checks = text
        .check
        .iter()
        .map(|check| read_method_check(file, check));
    // Six rows were pushed above, one for each method in its order.
    let at = |method: Method| &methods[method.index()];
    Ok(DetectionRead {
        detection: Detection {
            methods: Method::ALL.map(|method| at(method).0),
            hidden_share: file.within(text.hidden.span(), "share", hidden.share, [0.0, 0.9])?,
        },
        origin: file.origin(&text.source.mark, &text.source.text)?,
        ranges: Method::ALL.map(|method| at(method).1),
        origins: Method::ALL.map(|method| at(method).2.clone()),
        checks: checks.collect::<Result<_, _>>()?,
    })
}

fn read_method(file: File, row: &Spanned<MethodText>) -> Result<MethodDetection, Error> {
    let text = row.get_ref();
    let within = |key, value, range| file.within(row.span(), key, value, range);
    let [low, high] = text.sensitivity_range;
    within("sensitivity", text.sensitivity, [0.001, 0.999])?;
    within("sensitivity_range low", low, [0.001, text.sensitivity])?;
    within("sensitivity_range high", high, [text.sensitivity, 0.999])?;
    let wrong = &text.wrongly_condemned;
    within("share_of_condemned", wrong.share_of_condemned, [0.0, 0.95])?;
    within("reject_rate", wrong.reject_rate, [0.0, 0.5])?;
    let false_find = within("false_find", text.false_find, [0.0, 0.5])?;
    let false_reject = solve_false_reject(false_find, wrong.share_of_condemned, wrong.reject_rate);
    let Some(false_reject) = false_reject else {
        let what = "false_find is too small for the share of condemned poles that prove sound";
        return Err(file.wrong(row.span(), what));
    };
    Ok(MethodDetection {
        sensitivity: text.sensitivity,
        false_find,
        false_reject,
        measure_sd_mm: [
            within(
                "measure_sd_mm.external",
                text.measure_sd_mm.external,
                [0.1, 100.0],
            )?,
            within(
                "measure_sd_mm.internal",
                text.measure_sd_mm.internal,
                [0.1, 100.0],
            )?,
        ],
        verdict_sd: within("verdict_sd", text.verdict_sd, [0.01, 5.0])?,
    })
}

fn read_method_check(file: File, check: &Spanned<MethodCheckText>) -> Result<Check, Error> {
    let text = check.get_ref();
    let Some(method) = Method::from_word(&text.method) else {
        return Err(file.wrong(check.span(), &format!("{:?} is no method", text.method)));
    };
    let expect = match text.expect {
        ExpectOfMethodText::SensitivityBetween(range) => ExpectOfMethod::SensitivityBetween(range),
        ExpectOfMethodText::WronglyCondemned { chance, tolerance } => {
            ExpectOfMethod::WronglyCondemned { chance, tolerance }
        }
    };
    Ok(Check {
        expect: Expect::OfMethod(method, expect),
        why: text.why.clone(),
    })
}

/// `hazard.toml`: the early-failure curve, the figures of failure in wind, and their checks.
pub(super) fn read_hazard(file: File) -> Result<(LifeCurve, HazardFigures, Vec<Check>), Error> {
    let text: HazardText = file.parse()?;
    let early = text.early_failures.get_ref();
    let (in_use, strength) = (text.use_of_capacity.get_ref(), text.strength.get_ref());
    if text.check.is_empty() {
        return Err(file.whole("a model needs at least one [[check]]"));
    }
    let checks = text.check.iter().map(|check| Check {
        expect: Expect::Hazard {
            remaining_strength: check.remaining_strength,
            yearly: check.yearly,
            tolerance: check.tolerance,
        },
        why: check.why.clone(),
    });
    let figures = HazardFigures {
        use_of_capacity: file.within(
            text.use_of_capacity.span(),
            "value",
            in_use.value,
            [0.01, 1.5],
        )?,
        use_of_capacity_origin: file.origin(&in_use.mark, &in_use.text)?,
        strength_cov: file.within(text.strength.span(), "cov", strength.cov, [0.01, 0.6])?,
        strength_cov_origin: file.origin(&strength.mark, &strength.text)?,
        early_failures_origin: file.origin(&early.mark, &early.text)?,
    };
    let curve = file.curve(text.early_failures.span(), &early.life)?;
    Ok((curve, figures, checks.collect()))
}
