//! Where in the text a key stands, and which known word a misspelt one was meant to be.

use std::path::Path;
use toml::de::{DeTable, DeValue};

use crate::Error;

/// The text of a programme and its path, for messages.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place<'a> {
    pub text: &'a str,
    pub path: &'a Path,
    /// What `--set` replaced: such a value does not stand in the text.
    pub settings: &'a [String],
}

impl Place<'_> {
    /// The error for the key `key`, written with dots (`costs.discount_rate`, `rule.0.repeat_years`).
    pub(super) fn fault(self, key: &str, what: &str, help: &str) -> Error {
        let at = match self.setting_of(key) {
            Some(setting) => format!("--set {setting}, "),
            None => offset_of(self.text, key).map_or(String::new(), |offset| {
                format!("{}, ", line_and_column(self.text, offset))
            }),
        };
        Error::Programme {
            path: self.path.to_owned(),
            what: format!("{at}{}: {what}", shown(key)),
            help: help.to_owned(),
        }
    }

    /// The last setting that gave `key` or a part of it.
    fn setting_of<'s>(&'s self, key: &str) -> Option<&'s str> {
        let gives = |setting: &&String| {
            let own = setting.split('=').next().unwrap_or_default().trim();
            key == own || key.starts_with(&format!("{own}.")) || own.starts_with(&format!("{key}."))
        };
        self.settings.iter().rev().find(gives).map(String::as_str)
    }

    /// The error for what the TOML reader refused.
    pub(super) fn refused(self, error: &toml::de::Error) -> Error {
        let at = error.span().map_or(String::new(), |span| {
            format!("{}: ", line_and_column(self.text, span.start))
        });
        self.refused_at(error, &at)
    }

    /// The error for what the TOML reader refused of one setting.
    pub(super) fn refused_setting(self, error: &toml::de::Error, setting: &str) -> Error {
        self.refused_at(error, &format!("--set {setting}: "))
    }

    fn refused_at(self, error: &toml::de::Error, at: &str) -> Error {
        let message = error.message();
        let (what, help) = match unknown_key(message) {
            Some((key, known)) => (
                format!("unknown key \"{key}\""),
                suggestion(&key, known.iter().map(String::as_str), "keys here"),
            ),
            None => (
                in_words(message),
                "texts stand in quotes, numbers and dates do not; the README lists every key with its form".to_owned(),
            ),
        };
        Error::Programme {
            path: self.path.to_owned(),
            what: format!("{at}{what}"),
            help,
        }
    }
}

/// The reader's message with the names of machine types put in words.
fn in_words(message: &str) -> String {
    // The reader's second line names the key, as the place or the setting before the message does.
    let message = message.split("\nin `").next().unwrap_or(message).trim_end();
    let parts = message
        .strip_prefix("invalid type: ")
        .and_then(|rest| rest.rsplit_once(", expected "));
    let Some((given, wanted)) = parts else {
        return message.replace('\n', "; ");
    };
    let wanted = match wanted {
        "i64" => "a whole number",
        "f64" => "a number",
        "a boolean" => "true or false",
        "a string" => "a text",
        "a sequence" => "a list",
        wanted if wanted.starts_with("struct ") || wanted == "a map" => "a table",
        wanted => wanted,
    };
    let given = match given.split_once(' ') {
        Some(("string", text)) => format!("the text {text}"),
        Some(("integer" | "boolean", value)) => value.replace('`', ""),
        Some(("floating", value)) => value.replace("point ", "").replace('`', ""),
        _ if given == "map" => "a table".to_owned(),
        _ if given == "sequence" => "a list".to_owned(),
        _ => given.to_owned(),
    };
    format!("expected {wanted}, not {given}")
}

/// `rule.0.name` as people count: `rule 1, name`.
fn shown(key: &str) -> String {
    let mut text = String::new();
    let mut between = "";
    for part in key.split('.') {
        if let Ok(number) = part.parse::<usize>() {
            text = format!("{text} {}", number + 1);
            between = ", ";
        } else {
            text = format!("{text}{between}{part}");
            between = ".";
        }
    }
    text
}

fn line_and_column(text: &str, offset: usize) -> String {
    let before = text.get(..offset).unwrap_or(text);
    let line = before.matches('\n').count() + 1;
    let column = before.chars().rev().take_while(|c| *c != '\n').count() + 1;
    format!("line {line}, column {column}")
}

/// Where the deepest part of `key` that is in the text starts.
fn offset_of(text: &str, key: &str) -> Option<usize> {
    let document = DeTable::parse(text).ok()?;
    let mut found = None;
    let mut here: &DeValue<'_> = &DeValue::Table(document.into_inner());
    for part in key.split('.') {
        let next = match here {
            DeValue::Table(table) => table
                .iter()
                .find(|(name, _)| name.get_ref() == part)
                .map(|(name, value)| (name.span().start, value.get_ref())),
            DeValue::Array(list) => part
                .parse::<usize>()
                .ok()
                .and_then(|place| list.get(place))
                .map(|value| (value.span().start, value.get_ref())),
            _ => None,
        };
        let Some((offset, value)) = next else { break };
        found = Some(offset);
        here = value;
    }
    found
}

/// The key and the known keys in serde's words for an unknown field.
fn unknown_key(message: &str) -> Option<(String, Vec<String>)> {
    let rest = message.strip_prefix("unknown field `")?;
    let (key, rest) = rest.split_once('`')?;
    let known = rest.split('`').skip(1).step_by(2).map(str::to_owned);
    Some((key.to_owned(), known.collect()))
}

/// A help text: the word that was probably meant, if one is close, and the whole list.
pub fn suggestion<'a>(
    word: &str,
    known: impl Iterator<Item = &'a str> + Clone,
    what: &str,
) -> String {
    let list = known.clone().collect::<Vec<_>>().join(", ");
    match closest(word, known.clone()).or_else(|| held_in(word, known)) {
        Some(meant) => format!("did you mean \"{meant}\"? {what}: {list}"),
        None => format!("{what}: {list}"),
    }
}

/// The known word closest to `word`, if it is close enough to be meant: a third of its letters may differ.
pub fn closest<'a>(word: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let plain = |text: &str| text.to_lowercase().replace(['-', ' ', '_'], "");
    let wanted = plain(word);
    let allowed = (wanted.chars().count() / 3).max(1);
    known
        .map(|name| (edits(&wanted, &plain(name)), name))
        .filter(|(distance, _)| *distance <= allowed)
        .min()
        .map(|(_, name)| name)
}

/// The known word that `word` holds as its last part: `id` in `pole_id`.
fn held_in<'a>(word: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let plain = word.trim().to_lowercase().replace(['-', ' '], "_");
    known
        .filter(|name| plain.ends_with(&format!("_{name}")))
        .max_by_key(|name| name.len())
}

/// Single-letter changes that turn `a` into `b` (Levenshtein's distance, by the usual table of one row).
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, to) in b.iter().enumerate() {
            let change = diagonal + usize::from(from != *to);
            diagonal = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::{closest, edits, line_and_column, offset_of, suggestion};

    #[test]
    fn a_slip_of_the_pen_finds_its_word() {
        let known = ["horizon_years", "schedule_years", "seed"];
        assert_eq!(
            closest("horizen_years", known.into_iter()),
            Some("horizon_years")
        );
        assert_eq!(closest("colour", known.into_iter()), None);
        // By hand: kitten -> sitten -> sittin -> sitting.
        assert_eq!(edits("kitten", "sitting"), 3);
    }

    #[test]
    fn a_word_with_more_before_it_finds_its_word() {
        let known = ["id", "date", "set_date"];
        let meant = |word: &str| suggestion(word, known.into_iter(), "fields");
        assert!(meant("pole_id").starts_with("did you mean \"id\"?"));
        assert!(meant("year_set_date").starts_with("did you mean \"set_date\"?"));
        assert!(meant("covid").starts_with("fields:"));
    }

    #[test]
    fn a_key_is_found_where_it_stands() {
        let text = "title = \"x\"\n[[rule]]\nname = \"a\"\n[[rule]]\n  repeat_years = 0\n";
        let offset = offset_of(text, "rule.1.repeat_years").expect("the key is there");
        assert_eq!(line_and_column(text, offset), "line 5, column 3");
    }
}
