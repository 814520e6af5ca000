//! One text of `models/` being read: messages with the file and the line, and the values that every file has.

use std::ops::Range;

use serde::de::DeserializeOwned;
use toml::Spanned;

use super::twins::LifeText;
use super::{Mark, Origin};
use crate::Error;
use crate::pole::Vocabulary;
use crate::units::Zone;
use crate::wood::LifeCurve;

/// One file: what messages need.
#[derive(Clone, Copy)]
pub(super) struct File<'t> {
    pub name: &'t str,
    pub text: &'t str,
}

impl File<'_> {
    pub fn parse<T: DeserializeOwned>(self) -> Result<T, Error> {
        toml::from_str(self.text).map_err(|error| match error.span() {
            Some(span) => self.wrong(span, error.message()),
            None => self.whole(error.message()),
        })
    }

    pub fn whole(self, what: &str) -> Error {
        Error::Model {
            file: self.name.to_owned(),
            what: what.to_owned(),
        }
    }

    pub fn wrong(self, span: Range<usize>, what: &str) -> Error {
        let before = self.text.as_bytes().iter().take(span.start);
        let line = 1 + before.filter(|byte| **byte == b'\n').count();
        self.whole(&format!("line {line}: {}", what.trim()))
    }

    pub fn within(
        self,
        span: Range<usize>,
        key: &str,
        value: f64,
        range: [f64; 2],
    ) -> Result<f64, Error> {
        let [low, high] = range;
        if (low..=high).contains(&value) {
            return Ok(value);
        }
        let what = format!("{key} = {value} is not within {low} to {high}");
        Err(self.wrong(span, &what))
    }

    pub fn word<T: Vocabulary>(self, word: &Spanned<String>, what: &str) -> Result<T, Error> {
        T::from_word(word.get_ref()).ok_or_else(|| {
            let words: Vec<&str> = T::WORDS.iter().map(|(_, word, _)| *word).collect();
            let what = format!(
                "{:?} is no {what}: one of {}",
                word.get_ref(),
                words.join(", ")
            );
            self.wrong(word.span(), &what)
        })
    }

    pub fn zone(self, span: Range<usize>, name: &str) -> Result<Zone, Error> {
        let zone = name.parse().ok().and_then(Zone::new);
        zone.ok_or_else(|| self.wrong(span, &format!("{name:?} is no zone: \"1\" to \"5\"")))
    }

    pub fn mark(self, mark: &Spanned<String>) -> Result<Mark, Error> {
        let known = Mark::ALL
            .into_iter()
            .find(|known| known.word() == mark.get_ref());
        let Some(known) = known else {
            let words: Vec<&str> = Mark::ALL.into_iter().map(Mark::word).collect();
            let what = format!(
                "{:?} is no mark: one of {}",
                mark.get_ref(),
                words.join(", ")
            );
            return Err(self.wrong(mark.span(), &what));
        };
        Ok(known)
    }

    pub fn origin(self, mark: &Spanned<String>, text: &Spanned<String>) -> Result<Origin, Error> {
        let known = self.mark(mark)?;
        if text.get_ref().trim().is_empty() {
            return Err(self.wrong(
                text.span(),
                "a figure needs its source or a word of judgement",
            ));
        }
        Ok(Origin {
            text: text.get_ref().trim().to_owned(),
            mark: known,
        })
    }

    pub fn curve(self, span: Range<usize>, life: &LifeText) -> Result<LifeCurve, Error> {
        let within = |key, value, range| self.within(span.clone(), key, value, range);
        Ok(match *life {
            LifeText::Lognormal {
                median_years,
                ln_sd,
            } => LifeCurve::Lognormal {
                median_years: within("median_years", median_years, [0.1, 1000.0])?,
                ln_sd: within("ln_sd", ln_sd, [0.01, 2.0])?,
            },
            LifeText::Weibull { shape, scale_years } => LifeCurve::Weibull {
                shape: within("shape", shape, [0.1, 50.0])?,
                scale_years: within("scale_years", scale_years, [0.1, 1000.0])?,
            },
        })
    }
}
