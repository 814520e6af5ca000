//! Reject limits and inspection rules as they are written, and the published ones that stand in when none is.

use super::Completing;
use super::twins::{WrittenAboveGround, WrittenReject, WrittenRule};
use crate::Error;
use crate::pole::Method;
use crate::programme::{
    AboveGroundAction, AboveGroundRule, AppliesTo, InspectionRule, Limit, RejectRule, RuleKind,
};
use crate::units::{Fraction, Mm, Zone};

/// The two-thirds rule, widely used. Source of the published example: CPUC General Order 95, rule 44.3.
const TWO_THIRDS: f64 = 2.0 / 3.0;

/// First inspection and repeat by zones. Source: RUS Bulletin 1730B-121 (zone 1: first at 12 to 15 years, then every
/// 12; zones 2 and 3: 10 to 12, then 10; zones 4 and 5: 8 to 10, then 8). The earlier end of each first age is taken.
const BULLETIN: [(&str, &[u8], f64); 3] = [
    ("RUS 1730B-121, zone 1", &[1], 12.0),
    ("RUS 1730B-121, zones 2 and 3", &[2, 3], 10.0),
    ("RUS 1730B-121, zones 4 and 5", &[4, 5], 8.0),
];

impl Completing<'_> {
    pub(super) fn rejects(&mut self, written: &[WrittenReject]) -> Result<Vec<RejectRule>, Error> {
        if written.is_empty() {
            self.assume(
                "reject.least_strength",
                &"2/3",
                "the widely used two-thirds rule; published example: CPUC General Order 95, rule 44.3",
            );
            return Ok(vec![RejectRule {
                limit: Limit::Strength(Fraction::clamped(TWO_THIRDS)),
                from: None,
            }]);
        }
        written
            .iter()
            .enumerate()
            .map(|(place, rule)| self.reject(place, rule))
            .collect()
    }

    fn reject(&self, place: usize, written: &WrittenReject) -> Result<RejectRule, Error> {
        let key = |name: &str| format!("reject.{place}.{name}");
        let given = (
            written.least_strength,
            written.least_sound_shell_mm,
            written.least_circumference_share,
            written.least_required_strength,
        );
        let limit = match given {
            (Some(share), None, None, None) => {
                Limit::Strength(self.share_inside(&key("least_strength"), share)?)
            }
            (None, Some(shell), None, None) => Limit::SoundShell(Mm(self.number(
                &key("least_sound_shell_mm"),
                shell,
                1.0..=400.0,
            )?)),
            (None, None, Some(share), None) => {
                Limit::Circumference(self.share_inside(&key("least_circumference_share"), share)?)
            }
            (None, None, None, Some(share)) => {
                Limit::RequiredStrength(self.share_inside(&key("least_required_strength"), share)?)
            }
            _ => {
                return Err(self.place.fault(
                    &format!("reject.{place}"),
                    "a reject rule has exactly one limit",
                    "least_strength, least_required_strength, least_sound_shell_mm or least_circumference_share; a second limit is a second [[reject]]",
                ));
            }
        };
        Ok(RejectRule {
            limit,
            from: self.date(&key("from"), written.from.as_ref())?,
        })
    }

    /// A share between nothing and all: at the ends every pole or none would be rejected.
    fn share_inside(&self, key: &str, value: f64) -> Result<Fraction, Error> {
        self.number(key, value, 0.05..=0.99).map(Fraction::clamped)
    }

    pub(super) fn rules(&mut self, written: &[WrittenRule]) -> Result<Vec<InspectionRule>, Error> {
        if written.is_empty() {
            self.assume(
                "rule",
                &"first inspection and repeat after 12, 10 or 8 years by decay zone",
                "RUS Bulletin 1730B-121, a guideline",
            );
            return Ok(BULLETIN.iter().map(bulletin_rule).collect());
        }
        written
            .iter()
            .enumerate()
            .map(|(place, rule)| self.rule(place, rule))
            .collect()
    }

    fn rule(&mut self, place: usize, written: &WrittenRule) -> Result<InspectionRule, Error> {
        let key = |name: &str| format!("rule.{place}.{name}");
        let needed = |name: &str, value: Option<f64>| {
            value.ok_or_else(|| {
                self.place.fault(
                    &format!("rule.{place}"),
                    &format!("{name} is missing"),
                    "a rule says at which age the first inspection is due and after how many years the next",
                )
            })
        };
        let first = needed("first_age_years", written.first_age_years)?;
        let repeat = needed("repeat_years", written.repeat_years)?;
        let kind = self.kind(&key("kind"), written.kind.as_deref())?;
        if kind == RuleKind::Law && written.source.is_none() {
            return Err(self.place.fault(
                &key("kind"),
                "a law without a source",
                "name the law and its place: source = \"...\"",
            ));
        }
        let least_method = self.word(&key("least_method"), written.least_method.as_deref())?;
        if least_method.is_none() {
            self.assume("rule.least_method", &"sound_and_bore", "common practice");
        }
        Ok(InspectionRule {
            name: written
                .name
                .clone()
                .unwrap_or_else(|| format!("rule {}", place + 1)),
            applies: self.applies(place, written)?,
            first_age_years: self.number(&key("first_age_years"), first, 0.0..=100.0)?,
            repeat_years: self.number(&key("repeat_years"), repeat, 0.5..=100.0)?,
            after_decay_years: written
                .after_decay_years
                .map(|years| self.number(&key("after_decay_years"), years, 0.5..=100.0))
                .transpose()?,
            grace_days: self.whole(&key("grace_days"), written.grace_days, 0, 0..=3660)? as i32,
            least_method: least_method.unwrap_or(Method::SoundAndBore),
            kind,
            source: written
                .source
                .clone()
                .unwrap_or_else(|| "the owner's own standard".to_owned()),
            effective: self.date(&key("effective"), written.effective.as_ref())?,
        })
    }

    /// Rules for defects above the groundline; none stand in when none is written.
    pub(super) fn above_ground(
        &self,
        written: &[WrittenAboveGround],
    ) -> Result<Vec<AboveGroundRule>, Error> {
        let one = |(place, rule): (usize, &WrittenAboveGround)| {
            let key = |name: &str| format!("above_ground.{place}.{name}");
            let defects = rule
                .defects
                .iter()
                .filter_map(|word| self.word(&key("defects"), Some(word)).transpose());
            let defects: Vec<_> = defects.collect::<Result<_, _>>()?;
            let actions = [AboveGroundAction::MakeSafe, AboveGroundAction::Replace];
            let action = actions
                .into_iter()
                .find(|action| Some(action.word()) == rule.action.as_deref());
            let (Some(action), Some(days), false) = (action, rule.within_days, defects.is_empty())
            else {
                return Err(self.place.fault(
                    &format!("above_ground.{place}"),
                    "a rule for defects above the groundline needs defects, action and within_days",
                    "defects = [\"split\", \"top\"], action = \"make_safe\" or \"replace\", within_days = 7",
                ));
            };
            Ok(AboveGroundRule {
                defects,
                action,
                within_days: self.whole(&key("within_days"), Some(days), 0, 0..=3660)? as i32,
            })
        };
        written.iter().enumerate().map(one).collect()
    }

    fn applies(&self, place: usize, written: &WrittenRule) -> Result<AppliesTo, Error> {
        let zones = written.zones.iter().map(|number| {
            u8::try_from(*number)
                .ok()
                .and_then(Zone::new)
                .ok_or_else(|| {
                    self.place.fault(
                        &format!("rule.{place}.zones"),
                        &format!("{number} is not a decay zone"),
                        "zones are whole numbers from 1 (low) to 5 (severe)",
                    )
                })
        });
        Ok(AppliesTo {
            zones: zones.collect::<Result<_, _>>()?,
            lines: written.lines.clone(),
            districts: written.districts.clone(),
            high_consequence_only: written.high_consequence_only,
            reinforced_only: written.reinforced_only,
        })
    }

    fn kind(&self, key: &str, given: Option<&str>) -> Result<RuleKind, Error> {
        match given {
            None => Ok(RuleKind::Guideline),
            Some(word) => [RuleKind::Law, RuleKind::Guideline]
                .into_iter()
                .find(|kind| kind.word() == word)
                .ok_or_else(|| {
                    self.place.fault(
                        key,
                        &format!("\"{word}\" is not known"),
                        "write law or guideline",
                    )
                }),
        }
    }
}

fn bulletin_rule((name, zones, years): &(&str, &[u8], f64)) -> InspectionRule {
    InspectionRule {
        name: (*name).to_owned(),
        applies: AppliesTo {
            zones: zones.iter().filter_map(|zone| Zone::new(*zone)).collect(),
            ..AppliesTo::default()
        },
        first_age_years: *years,
        repeat_years: *years,
        after_decay_years: None,
        grace_days: 0,
        least_method: Method::SoundAndBore,
        kind: RuleKind::Guideline,
        source: "RUS Bulletin 1730B-121".to_owned(),
        effective: None,
    }
}
