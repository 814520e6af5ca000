//! Two charts of a hindcast as SVG: reliability (were the chances what they said) and lift (what the tops of the rankings
//! caught).
//!
//! Plain SVG 1.1 without scripts or fonts of its own; numbers come from [`crate::score`]. Texts are ours: no cell of the
//! owner's stands in a chart.

use super::quantities::to_decimals;
use crate::score::hindcast::Hindcast;
use crate::score::metrics::lift as lift_points;
use crate::score::scores::{Case, Rival};
use std::fmt::Write;

const WIDTH: f64 = 480.0;
const HEIGHT: f64 = 400.0;
const LEFT: f64 = 60.0;
const TOP: f64 = 40.0;
const SIDE: f64 = 300.0;

/// Colours that stay apart for colour-blind readers (Okabe and Ito, Color Universal Design, 2008), with dashes that do
/// so in black and white.
const INKS: [(&str, &str); 3] = [("#0072b2", "none"), ("#d55e00", "6 3"), ("#7f7f7f", "2 3")];

/// Points of a lift curve.
const STEPS: u32 = 100;

/// A place in a chart: shares of its width and height, from the lower left.
fn at(x: f64, y: f64) -> String {
    format!(
        "{},{}",
        to_decimals(LEFT + SIDE * x, 1),
        to_decimals(TOP + SIDE * (1.0 - y), 1)
    )
}

fn frame(title: &str, x: &str, y: &str, ticks: &[(f64, String)], inside: &str) -> String {
    let middle = LEFT + SIDE / 2.0;
    let low = TOP + SIDE;
    let mut marks = String::new();
    for (place, label) in ticks {
        let (across, up) = (LEFT + SIDE * place, low - SIDE * place);
        let _ = write!(
            marks,
            "<text x=\"{across:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{label}</text>\n<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{label}</text>\n",
            low + 16.0,
            LEFT - 6.0,
            up + 4.0
        );
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH}\" height=\"{HEIGHT}\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" font-family=\"sans-serif\" font-size=\"12\" role=\"img\">\n\
         <title>{title}</title>\n\
         <rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"white\"/>\n\
         <text x=\"{LEFT}\" y=\"22\" font-size=\"14\">{title}</text>\n\
         <rect x=\"{LEFT}\" y=\"{TOP}\" width=\"{SIDE}\" height=\"{SIDE}\" fill=\"none\" stroke=\"black\"/>\n\
         <text x=\"{middle}\" y=\"{}\" text-anchor=\"middle\">{x}</text>\n\
         <text transform=\"translate(14,{}) rotate(-90)\" text-anchor=\"middle\">{y}</text>\n\
         {marks}{inside}</svg>\n",
        low + 36.0,
        TOP + SIDE / 2.0
    )
}

/// Chances are small: the axes are roots, so that one per cent stands a tenth of the way.
fn rooted(chance: f64) -> f64 {
    chance.clamp(0.0, 1.0).sqrt()
}

/// Mean chance of every bin against the share found, with exact 95 % intervals; on the diagonal chances are what they say.
pub fn reliability(back: &Hindcast) -> String {
    let mut inside = format!(
        "<polyline points=\"{} {}\" stroke=\"#7f7f7f\" stroke-dasharray=\"2 3\" fill=\"none\"/>\n",
        at(0.0, 0.0),
        at(1.0, 1.0)
    );
    for bin in back.scores.iter().flat_map(|scores| &scores.bins) {
        let x = rooted(bin.forecast);
        let _ = write!(
            inside,
            "<polyline points=\"{} {}\" stroke=\"{ink}\" fill=\"none\"/>\n<rect x=\"{:.1}\" y=\"{:.1}\" width=\"7\" height=\"7\" fill=\"{ink}\"><title>{} of {}</title></rect>\n",
            at(x, rooted(bin.interval.low)),
            at(x, rooted(bin.interval.high)),
            LEFT + SIDE * x - 3.5,
            TOP + SIDE * (1.0 - rooted(bin.share())) - 3.5,
            bin.happened,
            bin.count,
            ink = INKS[0].0
        );
    }
    let ticks = [0.0, 0.01, 0.05, 0.2, 0.5, 1.0]
        .map(|chance| (rooted(chance), format!("{} %", 100.0 * chance)));
    frame(
        "Were the chances what they said?",
        "chance of being found below the limit (root scale)",
        "share found, 95 % interval",
        &ticks,
        &inside,
    )
}

/// Share of the finds that stand in the first part of each ranking.
pub fn lift(back: &Hindcast) -> String {
    let cases: Vec<&Case> = back.years.iter().flat_map(|year| &year.cases).collect();
    let curve = |chance: &dyn Fn(&Case) -> f64| {
        let pairs: Vec<(f64, bool)> = cases
            .iter()
            .map(|case| (chance(case), case.rejected))
            .collect();
        let points = lift_points(&pairs, STEPS);
        points
            .into_iter()
            .map(|(x, y)| at(x, y))
            .collect::<Vec<_>>()
            .join(" ")
    };
    let curves = [
        ("forecast", curve(&|case| case.chances.all)),
        (
            Rival::AgeKnown.words(),
            curve(&|case| case.rivals[Rival::AgeKnown as usize].all),
        ),
        ("by chance", format!("{} {}", at(0.0, 0.0), at(1.0, 1.0))),
    ];
    let mut inside = String::new();
    for (number, ((label, points), (ink, dash))) in curves.into_iter().zip(INKS).enumerate() {
        let y = TOP + SIDE - 12.0 - 16.0 * (2 - number) as f64;
        let _ = write!(
            inside,
            "<polyline points=\"{points}\" stroke=\"{ink}\" stroke-dasharray=\"{dash}\" stroke-width=\"1.5\" fill=\"none\"/>\n<text x=\"{:.1}\" y=\"{y:.1}\" fill=\"{ink}\" text-anchor=\"end\">{label}</text>\n",
            LEFT + SIDE - 6.0
        );
    }
    let ticks = [0.0, 0.2, 0.4, 0.6, 0.8, 1.0].map(|share| (share, format!("{} %", 100.0 * share)));
    frame(
        "What does the top of the ranking catch?",
        "share of the inspections, most likely first",
        "share of what was found below the limit",
        &ticks,
        &inside,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::forecast::Holds;
    use crate::score::hindcast::{Question, hindcast};
    use crate::words::sample;

    #[test]
    fn charts_stand_alone_and_hold_a_mark_for_every_bin() {
        let sample = sample::fleet();
        for as_of in [2010, 2024] {
            let question = Question {
                as_of: vec![as_of],
                window_years: None,
                holds: Holds::Survivors,
            };
            let back = hindcast(
                &sample.inventory,
                &sample.models,
                &sample.programme,
                &question,
            );
            let bins = back.scores.as_ref().map_or(0, |scores| scores.bins.len());
            let chart = reliability(&back);
            assert_eq!(chart.matches("width=\"7\"").count(), bins);
            for text in [chart, lift(&back)] {
                assert!(text.starts_with("<svg xmlns") && text.ends_with("</svg>\n"));
                assert!(!text.contains("NaN") && !text.contains("<script"));
                let (open, closed) = (
                    text.matches("<text").count(),
                    text.matches("</text>").count(),
                );
                assert_eq!(open, closed);
            }
        }
    }
}
