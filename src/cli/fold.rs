//! Lines that fit a terminal: what is wider than it is broken between words and goes on indented.
//!
//! Only where a person reads it: a pipe, a file and JSON get every line as it is. Knows no command.

use std::io::{self, IsTerminal};

/// Columns below which nothing is folded: a narrower window would make a column of single words.
const LEAST: usize = 40;

/// How much further in a line goes on than it began.
const INDENT: usize = 2;

/// The text as standard output should get it.
pub fn for_standard_output(text: &str) -> String {
    let is_json = text.trim_start().starts_with(['{', '[']);
    let size = terminal_size::terminal_size_of(io::stdout());
    match size {
        Some((terminal_size::Width(width), _)) if io::stdout().is_terminal() && !is_json => {
            folded(text, usize::from(width))
        }
        _ => text.to_owned(),
    }
}

/// The text with no line wider than `width` that has a blank to break at.
fn folded(text: &str, width: usize) -> String {
    if width < LEAST {
        return text.to_owned();
    }
    let lines = text.split('\n').map(|line| one(line, width));
    lines.collect::<Vec<_>>().join("\n")
}

fn one(line: &str, width: usize) -> String {
    let long = |line: &str| line.chars().count();
    if long(line) <= width {
        return line.to_owned();
    }
    let start = line.len() - line.trim_start().len();
    let indent = " ".repeat((start + INDENT).min(LEAST / 2));
    let mut done = String::new();
    let mut own = line[..start].to_owned();
    let mut is_first = true;
    for word in line[start..].split(' ') {
        if !is_first && long(&own) + 1 + long(word) > width {
            done.push_str(own.trim_end());
            done.push('\n');
            own.clone_from(&indent);
        } else if !is_first {
            own.push(' ');
        }
        own.push_str(word);
        is_first = false;
    }
    done + &own
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_line_goes_on_indented_and_loses_no_word() {
        let text = format!("  {}\nshort", "word ".repeat(20).trim_end());
        let folded = folded(&text, 40);
        assert!(
            folded.lines().all(|line| line.chars().count() <= 40),
            "{folded}"
        );
        assert_eq!(folded.lines().nth(1).map(|line| &line[..5]), Some("    w"));
        let words = |text: &str| text.split_whitespace().count();
        assert_eq!(words(&folded), words(&text));
        assert!(folded.ends_with("\nshort"));
    }

    #[test]
    fn what_cannot_be_broken_and_what_fits_stays_as_it_is() {
        let long = "x".repeat(60);
        assert_eq!(folded(&long, 50), long);
        let table = "a    b    c\n1    2    3\n";
        assert_eq!(folded(table, 50), table);
        assert_eq!(folded("a b", 10), "a b");
    }
}
