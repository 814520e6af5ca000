//! `poles.sld`: how a map draws `poles.geojson`, as OGC Styled Layer Descriptor 1.0.0 (02-070), which QGIS and `GeoServer` read.
//!
//! One rule a kind of work, the most urgent first. Names of properties and words are those of the layer; the style's text
//! stands in `poles.sld` beside this file, with the first plan year left open.

const STYLE: &str = include_str!("poles.sld");

/// The style of the poles of a plan that begins in `first_year`.
pub fn poles_style(first_year: i16) -> String {
    STYLE.replace("{first_year}", &first_year.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::pole::Vocabulary as _;
    use crate::schedule::Action;
    use crate::tables::schedule::schedule;
    use crate::words::{Caution, sample};

    fn between<'t>(text: &'t str, tag: &str) -> Vec<&'t str> {
        let (open, close) = (format!("<{tag}>"), format!("</{tag}>"));
        let parts = text.split(&open).skip(1);
        parts
            .map(|part| part.split(&close).next().unwrap_or_default())
            .collect()
    }

    #[test]
    fn every_action_has_a_rule_that_names_properties_of_the_layer() {
        let style = poles_style(2026);
        let literals = between(&style, "ogc:Literal");
        for action in [
            Action::Inspect,
            Action::Reinforce,
            Action::Replace,
            Action::MakeSafe,
        ] {
            assert!(literals.contains(&action.word()), "{}", action.word());
        }
        let sample = sample::fleet();
        let sheet = schedule(sample.case(PoleIndex(0)));
        let properties = super::super::poles::properties(&sheet);
        let names = between(&style, "ogc:PropertyName");
        assert_eq!(names.len(), literals.len());
        for name in names {
            assert!(properties.iter().any(|known| known.name == name), "{name}");
        }
        assert!(literals.contains(&"2026") && !style.contains('{'));
    }

    #[test]
    fn the_style_puts_what_is_urgent_first_and_carries_the_caution() {
        let style = poles_style(2026);
        assert_eq!(between(&style, "Name")[2], "make-safe");
        assert_eq!(between(&style, "Abstract"), [Caution::Estimate.text()]);
    }
}
