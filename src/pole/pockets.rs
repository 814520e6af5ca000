//! Pockets of decay at the groundline as an inspector measures them: facts of one visit. What they leave of the section is
//! the wood's business.

use crate::units::Mm;

/// A pocket of decay as an inspector measures it: a notch open to the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeenPocket {
    /// Width at the surface.
    pub width: Mm,
    /// Depth.
    pub depth: Mm,
    /// Side of the pole, degrees from north; `None` where it is not recorded.
    pub degrees: Option<f64>,
    /// Height of its middle above the groundline, negative below; `None` where it is not recorded.
    pub height: Option<Mm>,
}

/// The pockets that one visit measured, the widest first, whatever the order in which they were written.
///
/// Kept in single precision, which a tape never asks for: a millionth of a millimetre is lost, and a record with four
/// pockets is hardly larger than one with none.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SeenPockets([[f32; 4]; SeenPockets::MOST]);

/// Stands for a side that was not recorded; sides are 0 up to 360 degrees.
const NO_SIDE: f32 = -1.0;
/// Stands for a height that was not recorded; far beyond any pole's.
const NO_HEIGHT: f32 = f32::MAX;

impl SeenPockets {
    /// So many pockets are kept: a section with more is decayed all round.
    pub const MOST: usize = 4;

    /// No pocket.
    pub const fn of_none() -> Self {
        Self([[0.0; 4]; Self::MOST])
    }

    /// These pockets; of more than [`Self::MOST`] the widest.
    pub fn of(pockets: impl IntoIterator<Item = SeenPocket>) -> Self {
        let side = |degrees: f64| (degrees.rem_euclid(360.0) as f32).rem_euclid(360.0);
        let mut all: Vec<[f32; 4]> = pockets
            .into_iter()
            .map(|pocket| {
                let degrees = pocket.degrees.map_or(NO_SIDE, side);
                let height = pocket.height.map_or(NO_HEIGHT, |mm| mm.0 as f32);
                [
                    pocket.width.0 as f32,
                    pocket.depth.0 as f32,
                    degrees,
                    height,
                ]
            })
            .collect();
        all.sort_by_key(|pocket| std::cmp::Reverse(pocket.map(f32::to_bits)));
        let mut kept = [[0.0; 4]; Self::MOST];
        for (place, pocket) in kept.iter_mut().zip(all) {
            *place = pocket;
        }
        Self(kept)
    }

    /// Whether none was measured.
    pub const fn is_empty(&self) -> bool {
        self.0[0][0] <= 0.0
    }

    /// The pockets, the widest first.
    pub fn iter(&self) -> impl Iterator<Item = SeenPocket> {
        let pockets = self.0.into_iter().take_while(|pocket| pocket[0] > 0.0);
        pockets.map(|[width, depth, degrees, height]| SeenPocket {
            width: Mm(f64::from(width)),
            depth: Mm(f64::from(depth)),
            degrees: (degrees >= 0.0).then_some(f64::from(degrees)),
            height: (height < NO_HEIGHT).then_some(Mm(f64::from(height))),
        })
    }

    /// Everything that is known of them, comparable.
    pub fn key(&self) -> impl Ord + use<> {
        self.0.map(|pocket| pocket.map(f32::to_bits))
    }
}

#[cfg(test)]
mod tests {
    use super::{SeenPocket, SeenPockets};
    use crate::units::Mm;

    fn pocket(width: f64, degrees: Option<f64>) -> SeenPocket {
        SeenPocket {
            width: Mm(width),
            depth: Mm(25.0),
            degrees,
            height: degrees.map(|degrees| Mm(-degrees)),
        }
    }

    #[test]
    fn pockets_are_kept_whatever_their_order() {
        let [small, north, large] = [
            pocket(40.0, None),
            pocket(60.0, Some(-90.0)),
            pocket(60.5, Some(360.0)),
        ];
        let one = SeenPockets::of([small, north, large]);
        let kept: Vec<_> = one
            .iter()
            .map(|pocket| (pocket.width.0, pocket.degrees, pocket.height))
            .collect();
        assert_eq!(
            kept,
            [
                (60.5, Some(0.0), Some(Mm(-360.0))),
                (60.0, Some(270.0), Some(Mm(90.0))),
                (40.0, None, None)
            ]
        );
        let other = SeenPockets::of([large, small, north]);
        assert_eq!(one, other);
        assert!(one.key() == other.key());
        assert!(SeenPockets::default().is_empty() && !one.is_empty());
    }

    #[test]
    fn of_too_many_pockets_the_widest_are_kept() {
        let many = (1..=6).map(|number| pocket(10.0 * f64::from(number), None));
        let widths: Vec<f64> = SeenPockets::of(many).iter().map(|p| p.width.0).collect();
        assert_eq!(widths, [60.0, 50.0, 40.0, 30.0]);
    }
}
