//! Charts as SVG with a title and a description: they print, need no script, and a table stands beside each.
//!
//! Draws what it is given and computes no model. Colours are classes of the style sheet, so that the page's policy can
//! forbid inline styles.

use super::html::text;
use std::fmt::Write;

/// Size of a drawing in its own units; the page scales it.
const WIDTH: f64 = 420.0;
const HEIGHT: f64 = 200.0;
/// Room for labels: left, right, top, bottom.
const ROOM: [f64; 4] = [48.0, 12.0, 12.0, 28.0];

/// Signs of a label that fit across a drawing, and the height of its lines.
const LABEL_LENGTH: usize = 56;
const LABEL_LINE: f64 = 16.0;

/// A point of a band: label, low, middle, high.
#[derive(Debug, Clone, PartialEq)]
pub struct BandPoint {
    /// What stands below it.
    pub label: String,
    /// Lower end.
    pub low: f64,
    /// The figure.
    pub middle: f64,
    /// Upper end.
    pub high: f64,
}

/// The next round number of the kind 1, 2, 5, 10 at or above `value`.
fn round_up(value: f64) -> f64 {
    let mut step = 1.0;
    while step < value {
        for factor in [2.0, 2.5, 2.0] {
            step *= factor;
            if step >= value {
                return step;
            }
        }
    }
    while step / 10.0 >= value && step > 1e-6 {
        step /= 10.0;
    }
    step
}

struct Frame {
    top: f64,
    step: f64,
}

impl Frame {
    fn new(most: f64) -> Self {
        let step = round_up(most.max(1e-6) / 4.0);
        Self {
            top: (most / step).ceil().max(1.0) * step,
            step,
        }
    }

    fn y(&self, value: f64) -> f64 {
        HEIGHT - ROOM[3] - (HEIGHT - ROOM[2] - ROOM[3]) * value / self.top
    }

    fn lines(&self, unit: &str) -> String {
        let mut lines = String::new();
        let count = (self.top / self.step).round() as u32;
        for line in 0..=count {
            let value = f64::from(line) * self.step;
            let y = self.y(value);
            let _ = write!(
                lines,
                "<path class=\"grid\" d=\"M{:.1} {y:.1}H{:.1}\"/><text class=\"axis\" x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}{unit}</text>",
                ROOM[0],
                WIDTH - ROOM[1],
                ROOM[0] - 6.0,
                y + 4.0,
                crate::words::quantities::to_decimals(value, 2),
            );
        }
        lines
    }
}

fn open(height: f64, name: &str, title: &str, about: &str) -> String {
    format!(
        "<svg class=\"chart\" viewBox=\"0 0 {WIDTH} {height}\" role=\"img\" aria-labelledby=\"{name}-t {name}-d\"><title id=\"{name}-t\">{}</title><desc id=\"{name}-d\">{}</desc>",
        text(title),
        text(about)
    )
}

/// A line of figures over labels, with their band behind it.
pub fn band(name: &str, title: &str, about: &str, points: &[BandPoint]) -> String {
    let most = points.iter().map(|point| point.high).fold(1.0, f64::max);
    let frame = Frame::new(most);
    let step = (WIDTH - ROOM[0] - ROOM[1]) / (points.len().max(2) - 1) as f64;
    let x = |place: usize| ROOM[0] + step * place as f64;
    let mut page = open(HEIGHT, name, title, about);
    page.push_str(&frame.lines(""));
    let along = |value: fn(&BandPoint) -> f64| {
        points
            .iter()
            .enumerate()
            .map(|(place, point)| format!("{:.1} {:.1}", x(place), frame.y(value(point))))
            .collect::<Vec<_>>()
    };
    let mut outline = along(|point| point.high);
    outline.extend(along(|point| point.low).into_iter().rev());
    let _ = write!(
        page,
        "<path class=\"band\" d=\"M{}Z\"/><path class=\"line\" d=\"M{}\"/>",
        outline.join("L"),
        along(|point| point.middle).join("L")
    );
    let every = points.len().div_ceil(7).max(1);
    for (place, point) in points.iter().enumerate().step_by(every) {
        let _ = write!(
            page,
            "<text class=\"axis\" x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>",
            x(place),
            HEIGHT - 8.0,
            text(&point.label)
        );
    }
    page + "</svg>"
}

/// Bars with a whisker from low to high where there is one; the last bar is drawn as an expectation.
pub fn bars(name: &str, title: &str, about: &str, unit: &str, points: &[BandPoint]) -> String {
    let most = points.iter().map(|point| point.high).fold(1e-3, f64::max);
    let frame = Frame::new(most);
    let step = (WIDTH - ROOM[0] - ROOM[1]) / points.len().max(1) as f64;
    let mut page = open(HEIGHT, name, title, about);
    page.push_str(&frame.lines(unit));
    for (place, point) in points.iter().enumerate() {
        let middle = ROOM[0] + step * (place as f64 + 0.5);
        let (top, foot) = (frame.y(point.middle), frame.y(0.0));
        let class = if place + 1 == points.len() {
            "expected"
        } else {
            "bar"
        };
        let wide = (step * 0.5).min(60.0);
        let _ = write!(
            page,
            "<rect class=\"{class}\" x=\"{:.1}\" y=\"{top:.1}\" width=\"{wide:.1}\" height=\"{:.1}\"/>",
            middle - wide / 2.0,
            (foot - top).max(0.0)
        );
        if point.high > point.low {
            let (high, low) = (frame.y(point.high), frame.y(point.low));
            let _ = write!(
                page,
                "<path class=\"whisker\" d=\"M{middle:.1} {high:.1}V{low:.1}M{0:.1} {high:.1}h16M{0:.1} {low:.1}h16\"/>",
                middle - 8.0
            );
        }
        let _ = write!(
            page,
            "<text class=\"axis\" x=\"{middle:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>",
            HEIGHT - 8.0,
            text(&point.label)
        );
    }
    page + "</svg>"
}

/// A label in lines of at most so many signs, broken between words.
fn lines_of(label: &str, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in label.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= most => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Pairs of intervals, one above the other: what was published, and what the owner's findings made of it.
pub fn intervals(
    name: &str,
    title: &str,
    about: &str,
    rows: &[(String, BandPoint, BandPoint)],
) -> String {
    let most = rows
        .iter()
        .flat_map(|(_, before, after)| [before.high, after.high])
        .fold(10.0, f64::max);
    let step = round_up(most / 6.0);
    let (left, top) = (16.0, 24.0);
    let labels: Vec<Vec<String>> = rows
        .iter()
        .map(|(label, _, _)| lines_of(label, LABEL_LENGTH))
        .collect();
    let row_height = |lines: &Vec<String>| 32.0 + LABEL_LINE * lines.len() as f64;
    let height = top + labels.iter().map(row_height).sum::<f64>() + 4.0;
    let x = |value: f64| left + (WIDTH - left - 16.0) * value / (most * 1.02);
    let mut page = open(height, name, title, about);
    let mut at = 0.0;
    while at <= most {
        let _ = write!(
            page,
            "<path class=\"grid\" d=\"M{0:.1} {top}V{height:.1}\"/><text class=\"axis\" x=\"{0:.1}\" y=\"14\" text-anchor=\"middle\">{at}</text>",
            x(at)
        );
        at += step;
    }
    let mut y = top;
    for ((_, before, after), lines) in rows.iter().zip(&labels) {
        for line in lines {
            y += LABEL_LINE;
            let _ = write!(
                page,
                "<text class=\"axis\" x=\"{left}\" y=\"{y:.1}\">{}</text>",
                text(line)
            );
        }
        y += 32.0;
        for (point, class, y) in [(before, "published", y - 22.0), (after, "owners", y - 10.0)] {
            let _ = write!(
                page,
                "<path class=\"{class}\" d=\"M{:.1} {y:.1}H{:.1}\"/><circle class=\"{class}\" cx=\"{:.1}\" cy=\"{y:.1}\" r=\"4.5\"/>",
                x(point.low),
                x(point.high),
                x(point.middle)
            );
        }
    }
    page + "</svg>"
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(label: &str, low: f64, middle: f64, high: f64) -> BandPoint {
        BandPoint {
            label: label.to_owned(),
            low,
            middle,
            high,
        }
    }

    #[test]
    fn scales_end_at_round_numbers() {
        for (value, round) in [
            (0.9, 1.0),
            (1.1, 2.0),
            (3.0, 5.0),
            (7.0, 10.0),
            (17.0, 20.0),
            (0.03, 0.1),
        ] {
            assert!(
                (round_up(value) - round).abs() < 1e-9,
                "{value}: {}",
                round_up(value)
            );
        }
    }

    #[test]
    fn a_band_draws_every_point_and_escapes_its_words() {
        let points = [point("<b>", 1.0, 2.0, 3.0), point("2027", 2.0, 3.0, 4.0)];
        let drawing = band("a", "New \"poles\"", "By year", &points);
        assert!(drawing.contains("New &quot;poles&quot;") && drawing.contains("&lt;b&gt;"));
        assert!(!drawing.contains("style=") && !drawing.contains("NaN"));
        // The highest value, 4, lies at the top of the scale: 12 units below the edge.
        assert!(drawing.contains("408.0 12.0"), "{drawing}");
    }

    #[test]
    fn a_long_label_is_broken_between_words_and_none_is_lost() {
        let lines = lines_of("one two three  four", 8);
        assert_eq!(lines, ["one two", "three", "four"]);
        let rows = [(
            "a".repeat(40) + " b " + &"c".repeat(40),
            point("", 1.0, 2.0, 3.0),
            point("", 2.0, 3.0, 4.0),
        )];
        let drawing = intervals("a", "t", "d", &rows);
        assert_eq!(drawing.matches("x=\"16\"").count(), 2, "{drawing}");
        // Two lines of 16 and 32 for the intervals below the 24 of the scale, and 4 at the foot.
        assert!(drawing.contains("viewBox=\"0 0 420 92\""), "{drawing}");
    }

    #[test]
    fn nothing_to_draw_draws_nothing_wrong() {
        for drawing in [
            band("a", "t", "d", &[]),
            bars("a", "t", "d", "", &[]),
            bars("a", "t", "d", "", &[point("2026", 0.0, 0.0, 0.0)]),
            intervals("a", "t", "d", &[]),
        ] {
            assert!(
                !drawing.contains("NaN") && !drawing.contains("inf"),
                "{drawing}"
            );
            assert!(drawing.ends_with("</svg>"));
        }
    }
}
