//! Text into HTML: escaping, and the few elements that every part of the page is made of.
//!
//! Every text from a plan or a list passes [`text`] or [`owners`]; nothing else may put one into the page.

use std::fmt::Write;

/// A text as HTML: no sign of it can open a tag, close an attribute or start an entity.
pub fn text(raw: &str) -> String {
    let mut safe = String::with_capacity(raw.len());
    for letter in raw.chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            // Signs that a page may not hold: shown as the sign for an unknown one.
            control if control.is_control() && !"\n\t".contains(control) => safe.push('\u{fffd}'),
            other => safe.push(other),
        }
    }
    safe
}

/// A sentence of ours, with the sign for plus or minus where plain text has `+-`.
pub fn sentence(raw: &str) -> String {
    text(raw).replace(" +- ", " \u{b1} ")
}

/// A text of the owner's, kept apart from the direction of the writing around it.
pub fn owners(raw: &str) -> String {
    format!("<bdi>{}</bdi>", text(raw))
}

/// A value as JSON that may stand inside a script element: no `<` in it can close the element.
pub fn json_for_script(value: &serde_json::Value) -> String {
    value
        .to_string()
        .replace('<', "\\u003c")
        .replace('\u{2028}', "\\u2028")
        .replace('\u{2029}', "\\u2029")
}

/// What a list must be read with.
pub fn caution(raw: &str) -> String {
    format!("<p class=\"caution\">{}</p>\n", sentence(raw))
}

/// A table: its caption, the heads of its columns (`true`: a column of numbers) and its rows of finished cells, the
/// first of which heads its row.
pub fn table(caption: &str, heads: &[(&str, bool)], rows: &[Vec<String>]) -> String {
    let mut page = format!(
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{0}\"><table>\n<caption>{0}</caption>\n<thead><tr>",
        sentence(caption)
    );
    let class = |number: bool| if number { " class=\"number\"" } else { "" };
    for (head, number) in heads {
        let _ = write!(
            page,
            "<th scope=\"col\"{}>{}</th>",
            class(*number),
            text(head)
        );
    }
    page.push_str("</tr></thead>\n<tbody>\n");
    for row in rows {
        page.push_str("<tr>");
        for (place, (cell, (_, number))) in row.iter().zip(heads).enumerate() {
            let class = class(*number);
            let _ = if place == 0 {
                write!(page, "<th scope=\"row\"{class}>{cell}</th>")
            } else {
                write!(page, "<td{class}>{cell}</td>")
            };
        }
        page.push_str("</tr>\n");
    }
    page.push_str("</tbody></table></div>\n");
    page
}

/// A table of at most `most` rows that stand open, those of the most weight, in the order given; the others stand
/// behind a line that opens them, so that they take no paper.
pub fn table_of_most(
    caption: &str,
    heads: &[(&str, bool)],
    rows: Vec<(f64, Vec<String>)>,
    most: usize,
) -> String {
    let mut heaviest: Vec<usize> = (0..rows.len()).collect();
    heaviest.sort_by(|a, b| rows[*b].0.total_cmp(&rows[*a].0).then(a.cmp(b)));
    heaviest.truncate(most);
    let (open, rest): (Vec<_>, Vec<_>) = rows
        .into_iter()
        .enumerate()
        .partition(|(place, _)| heaviest.contains(place));
    let cells = |rows: Vec<(usize, (f64, Vec<String>))>| -> Vec<Vec<String>> {
        rows.into_iter().map(|(_, (_, cells))| cells).collect()
    };
    let page = table(caption, heads, &cells(open));
    if rest.is_empty() {
        return page;
    }
    format!(
        "{page}<details><summary>And {} more, of which fewer are needed</summary>\n{}</details>\n",
        rest.len(),
        table(&format!("{caption}: the others"), heads, &cells(rest))
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_table_shows_the_heaviest_rows_in_their_order_and_loses_none() {
        let rows = |weights: &[f64]| -> Vec<(f64, Vec<String>)> {
            let rows = weights.iter().enumerate();
            rows.map(|(place, weight)| (*weight, vec![format!("r{place}")]))
                .collect()
        };
        let heads = [("a", false)];
        let short = table_of_most("t", &heads, rows(&[1.0, 2.0]), 2);
        assert!(!short.contains("<details>") && short.contains("r1"));
        let long = table_of_most("t", &heads, rows(&[1.0, 5.0, 0.0, 1.0, 9.0]), 3);
        let (open, rest) = long.split_once("<details>").expect("more rows");
        // 5 and 9, and the first of the two of 1.
        for (row, stands) in [
            ("r0", true),
            ("r1", true),
            ("r2", false),
            ("r3", false),
            ("r4", true),
        ] {
            assert_eq!(
                (open.contains(row), rest.contains(row)),
                (stands, !stands),
                "{row}"
            );
        }
        assert!(rest.contains("And 2 more"));
    }

    #[test]
    fn hostile_text_stays_text() {
        assert_eq!(
            text("</script><img src=x onerror='a(\"b\")'>&amp;"),
            "&lt;/script&gt;&lt;img src=x onerror=&#39;a(&quot;b&quot;)&#39;&gt;&amp;amp;"
        );
        assert_eq!(text("a\u{0}b\u{7}"), "a\u{fffd}b\u{fffd}");
        assert_eq!(owners("\u{202e}abc"), "<bdi>\u{202e}abc</bdi>");
    }

    #[test]
    fn json_cannot_close_its_script() {
        let json = json_for_script(&serde_json::json!({"a": "</script><!--\u{2028}"}));
        assert_eq!(json, r#"{"a":"\u003c/script>\u003c!--\u2028"}"#);
        let back: serde_json::Value = serde_json::from_str(&json).expect("JSON still");
        assert_eq!(back["a"], "</script><!--\u{2028}");
    }

    #[test]
    fn a_table_has_a_caption_and_heads() {
        let page = table(
            "Two",
            &[("a", false), ("b", true)],
            &[vec!["1".into(), "2".into()]],
        );
        assert!(page.contains("<caption>Two</caption>"));
        assert!(page.contains("<th scope=\"row\">1</th><td class=\"number\">2</td>"));
    }
}
