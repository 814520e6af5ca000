//! Pockets of decay off the centre of a groundline section: enclosed, exposed, or several, all on ONE section.
//!
//! Owns the geometry of what is left of a [`Section`] after pockets are taken out of it, and knows nothing of rules,
//! inspections or command lines. Elementary bending: with the load along a direction, the bending axis stands square
//! to it through the centroid of what is left, and the modulus is the second moment about that axis over the distance
//! of the farther face. Area, centroid and second moments are integrated over strips, in each of which the wood is what
//! the union of all pockets leaves, so that pockets that overlap count once and defects are never multiplied. What is left is taken to act as one
//! piece. A pocket that grows alone never adds strength; one that balances another may give back some 0.2 %.

use std::f64::consts::{FRAC_PI_2, PI};

use super::Section;
use crate::maths::sin_cos;
use crate::units::Mm;

/// Strips between two neighbouring ordinates at which a boundary starts, ends or turns (even, for Simpson's rule).
/// Against closed forms the strength is right to ten digits, and to six where boundaries cross.
const STRIPS: u32 = 1000;

/// Directions tried in the half turn after which strengths repeat: steps of 0.01 degrees, some 1e-8 of the strength.
const DIRECTIONS: u32 = 18_000;

/// How much weaker a direction must be to count as worse than one before it: rounding alone is less.
const WORSE_BY: f64 = 1e-12;

/// A local pocket of decay. Lengths are measured on the section that the outside decay left; directions are degrees
/// from any mark that all directions of one section share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pocket {
    /// A round void with sound wood all around it.
    Enclosed {
        /// Radius of the void.
        radius: Mm,
        /// Distance of its centre from the pole's centre.
        from_centre: Mm,
        /// Direction from the pole's centre to its own.
        degrees: f64,
    },
    /// A notch open to the surface: straight sides, a flat floor square to its direction.
    Exposed {
        /// Distance of its sides.
        width: Mm,
        /// Depth of its floor below the round surface at the middle of its mouth.
        depth: Mm,
        /// Direction from the pole's centre to the middle of its mouth.
        degrees: f64,
    },
}

/// Why a pocket cannot be on a section.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Misfit {
    /// A length below zero, or no number at all.
    NotALength,
    /// An enclosed pocket that reaches beyond the surface left.
    ThroughTheSurface,
    /// An exposed pocket wider than the diameter left.
    TooWide,
    /// An exposed pocket deeper than the radius left.
    TooDeep,
}

impl Pocket {
    /// What keeps the pocket from being on a section whose outside decay left this radius.
    pub fn misfit(&self, left: Mm) -> Option<Misfit> {
        // Rounding of units must not turn away a pocket that just touches.
        let room = left.0 * (1.0 + 1e-9);
        let is_length = |length: Mm| length.0.is_finite() && length.0 >= 0.0;
        let (lengths, degrees, too_large) = match *self {
            Self::Enclosed {
                radius,
                from_centre,
                degrees,
            } => {
                let outside = radius.0 + from_centre.0 > room;
                let fault = outside.then_some(Misfit::ThroughTheSurface);
                ([radius, from_centre], degrees, fault)
            }
            Self::Exposed {
                width,
                depth,
                degrees,
            } => {
                let too_wide = (width.0 > 2.0 * room).then_some(Misfit::TooWide);
                let too_deep = (depth.0 > room).then_some(Misfit::TooDeep);
                ([width, depth], degrees, too_wide.or(too_deep))
            }
        };
        if !(lengths.into_iter().all(is_length) && degrees.is_finite()) {
            return Some(Misfit::NotALength);
        }
        too_large
    }
}

/// What bending in one direction meets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bending {
    /// Second moment of area about the bending axis, mm4.
    pub second_moment: f64,
    /// Distance of the farther face from the bending axis.
    pub farthest_fibre: Mm,
    /// Section modulus, mm3.
    pub modulus: f64,
    /// The modulus as a share of that of the section when new, 0 to 1.
    pub remaining_strength: f64,
}

/// What pockets leave of a groundline section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PocketedSection {
    section: Section,
    /// Area left, mm2.
    pub area: f64,
    /// Centroid of what is left, mm from the pole's centre along 0 and 90 degrees.
    pub centroid: [f64; 2],
    /// Second moments about the centroid, mm4: along 0 degrees, along 90, and the product of both.
    moments: [f64; 3],
}

impl PocketedSection {
    /// What the pockets leave of the section.
    ///
    /// # Errors
    /// When a pocket cannot be on it: its place in the list, from 0, and why.
    pub fn new(section: Section, pockets: &[Pocket]) -> Result<Self, (usize, Misfit)> {
        let left = Mm(section.outer_diameter().0 / 2.0);
        let mut missing = vec![Shape::disc(section.hollow_radius.0, [0.0, 0.0])];
        for (place, pocket) in pockets.iter().enumerate() {
            if let Some(misfit) = pocket.misfit(left) {
                return Err((place, misfit));
            }
            missing.push(Shape::of(pocket, left));
        }
        let sums = integrate(left.0, &missing);
        let area = sums.area;
        let per_area = if area > 0.0 { 1.0 / area } else { 0.0 };
        let [x, y] = sums.first.map(|first| first * per_area);
        let [xx, yy, xy] = sums.second;
        Ok(Self {
            section,
            area,
            centroid: [x, y],
            moments: [xx - area * x * x, yy - area * y * y, xy - area * x * y],
        })
    }

    /// What a load along a direction, to one side or the other, meets.
    ///
    /// The face is the round surface that the outside decay left, even where an exposed pocket has cut it away: to
    /// measure to the floor of a pocket would make a round section stronger by its first shallow notch.
    pub fn bending(&self, degrees: f64) -> Bending {
        let (sin, cos) = sin_cos(degrees.to_radians());
        let [xx, yy, xy] = self.moments;
        let second_moment = (xx * cos * cos + 2.0 * xy * sin * cos + yy * sin * sin).max(0.0);
        let shift = self.centroid[0] * cos + self.centroid[1] * sin;
        let fibre = self.section.outer_diameter().0 / 2.0 + shift.abs();
        let modulus = if fibre > 0.0 {
            second_moment / fibre
        } else {
            0.0
        };
        let share = modulus / self.original_modulus();
        Bending {
            second_moment,
            farthest_fibre: Mm(fibre),
            modulus,
            remaining_strength: if share > 0.0 { share.min(1.0) } else { 0.0 },
        }
    }

    /// The direction of load, 0 up to 180 degrees, in which least strength is left.
    pub fn worst_direction(&self) -> f64 {
        let mut worst = (0.0, f64::INFINITY);
        for step in 0..DIRECTIONS {
            let degrees = f64::from(step) * 180.0 / f64::from(DIRECTIONS);
            let strength = self.bending(degrees).remaining_strength;
            if strength < worst.1 - WORSE_BY {
                worst = (degrees, strength);
            }
        }
        worst.0
    }

    /// Section modulus when new, mm3.
    pub fn original_modulus(&self) -> f64 {
        let diameter = self.section.diameter.0;
        PI * diameter * diameter * diameter / 32.0
    }
}

/// Something missing from the section: convex, so that a strip meets it once.
enum Shape {
    Disc {
        radius: f64,
        centre: [f64; 2],
    },
    /// The band `floor..=surface` along a direction, as wide as `half_width` to either side of it.
    Notch {
        floor: f64,
        surface: f64,
        half_width: f64,
        /// Sine and cosine of the direction.
        towards: (f64, f64),
    },
}

impl Shape {
    const fn disc(radius: f64, centre: [f64; 2]) -> Self {
        Self::Disc { radius, centre }
    }

    fn of(pocket: &Pocket, left: Mm) -> Self {
        match *pocket {
            Pocket::Enclosed {
                radius,
                from_centre,
                degrees,
            } => {
                let (sin, cos) = sin_cos(degrees.to_radians());
                Self::disc(radius.0, [from_centre.0 * cos, from_centre.0 * sin])
            }
            Pocket::Exposed {
                width,
                depth,
                degrees,
            } => Self::Notch {
                floor: left.0 - depth.0,
                surface: left.0,
                half_width: width.0 / 2.0,
                towards: sin_cos(degrees.to_radians()),
            },
        }
    }

    /// Where the strip at ordinate `y` is missing; an empty span when it is not.
    fn span(&self, y: f64) -> (f64, f64) {
        match *self {
            Self::Disc { radius, centre } => {
                let half = (radius * radius - (y - centre[1]) * (y - centre[1])).max(0.0);
                (centre[0] - half.sqrt(), centre[0] + half.sqrt())
            }
            Self::Notch {
                floor,
                surface,
                half_width,
                towards: (sin, cos),
            } => {
                // Along: x cos + y sin; across: y cos - x sin. A factor of 0 gives endless spans, or none.
                let along = between(floor - y * sin, surface - y * sin, cos);
                let across = between(-half_width - y * cos, half_width - y * cos, -sin);
                (along.0.max(across.0), along.1.min(across.1))
            }
        }
    }

    /// Ordinates at which the boundary starts, ends or turns.
    fn ordinates(&self) -> Vec<f64> {
        match *self {
            Self::Disc { radius, centre } => vec![centre[1] - radius, centre[1] + radius],
            Self::Notch {
                floor,
                surface,
                half_width,
                towards: (sin, cos),
            } => {
                // Its sides end at the mouth, its floor at the sides or before them at the surface.
                let on_the_circle = |one: f64| (surface * surface - one * one).max(0.0).sqrt();
                let across = half_width.min(on_the_circle(floor));
                let corner = |along: f64, across: f64| along * sin + across * cos;
                [(floor, across), (on_the_circle(across), across)]
                    .into_iter()
                    .flat_map(|(along, across)| [corner(along, across), corner(along, -across)])
                    .collect()
            }
        }
    }
}

/// The span of `x` in which `low <= factor * x <= high`.
fn between(low: f64, high: f64, factor: f64) -> (f64, f64) {
    let (one, other) = (low / factor, high / factor);
    (one.min(other), one.max(other))
}

/// Area and moments about the pole's centre.
#[derive(Default)]
struct Sums {
    area: f64,
    first: [f64; 2],
    second: [f64; 3],
}

impl Sums {
    /// Adds wood from `from` to `to` in the strip at `y` of thickness `dy`.
    fn add(&mut self, y: f64, dy: f64, from: f64, to: f64) {
        let length = to - from;
        let first = length * (to + from) / 2.0;
        self.area += dy * length;
        self.first[0] += dy * first;
        self.first[1] += dy * length * y;
        self.second[0] += dy * length * (to * to + to * from + from * from) / 3.0;
        self.second[1] += dy * length * y * y;
        self.second[2] += dy * first * y;
    }
}

/// Integrates over what is left of a disc of radius `left`: exactly along each strip, by Simpson's rule across them.
fn integrate(left: f64, missing: &[Shape]) -> Sums {
    let mut edges: Vec<f64> = missing.iter().flat_map(Shape::ordinates).collect();
    edges.extend([-left, left]);
    edges.retain(|edge| (-left..=left).contains(edge));
    edges.sort_by(f64::total_cmp);
    let mut sums = Sums::default();
    let step = PI / f64::from(STRIPS);
    for pair in edges.windows(2) {
        let (middle, half) = (f64::midpoint(pair[0], pair[1]), (pair[1] - pair[0]) / 2.0);
        // y = middle + half sin t takes the vertical tangents of circles away; both ends weigh nothing.
        for strip in 1..STRIPS {
            let (sin, cos) = sin_cos(f64::from(strip) * step - FRAC_PI_2);
            let weight = if strip % 2 == 1 { 4.0 } else { 2.0 };
            add_strip(
                &mut sums,
                left,
                missing,
                middle + half * sin,
                half * cos * step * weight / 3.0,
            );
        }
    }
    sums
}

/// Adds the wood of one strip: its chord without the union of what is missing.
fn add_strip(sums: &mut Sums, left: f64, missing: &[Shape], y: f64, dy: f64) {
    let end = (left * left - y * y).max(0.0).sqrt();
    let mut spans: Vec<(f64, f64)> = missing.iter().map(|shape| shape.span(y)).collect();
    spans.retain(|span| span.0 < span.1);
    spans.sort_by(|one, other| one.0.total_cmp(&other.0));
    let mut from = -end;
    for (start, stop) in spans {
        if start > from {
            sums.add(y, dy, from, start.min(end));
        }
        from = from.max(stop).min(end);
    }
    sums.add(y, dy, from, end);
}

#[cfg(test)]
mod tests;
