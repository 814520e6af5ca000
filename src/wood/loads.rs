//! Bending moments that wind makes at the groundline: on the bare pole, and on wires.
//!
//! Knows no rule and no class. A pole is a trapezium `D_t` wide at the top and `D_g` at the groundline, `H` high: the
//! moment of a pressure `q` is `q H^2 (D_g + 2 D_t) / 6`. A wire with ice `t` thick takes `q (d + 2 t)` a length over
//! its wind span.

use crate::units::{Mm, NewtonMetre, Pressure};

/// Density of air for [`pressure_of_speed`], kg/m3: 15 degrees at sea level.
pub const AIR_DENSITY: f64 = 1.225;

/// Pressure of a wind speed, m/s, on a body of drag coefficient `drag`.
pub fn pressure_of_speed(metres_a_second: f64, drag: f64) -> Pressure {
    Pressure(0.5 * AIR_DENSITY * metres_a_second * metres_a_second * drag)
}

/// Moment at the groundline of a wind pressure on the bare pole.
pub fn moment_on_pole(pressure: Pressure, height: Mm, groundline: Mm, top: Mm) -> NewtonMetre {
    let (height, groundline, top) = (height.0 / 1e3, groundline.0 / 1e3, top.0 / 1e3);
    NewtonMetre(pressure.0 * height * height * (groundline + 2.0 * top) / 6.0)
}

/// Wires of one kind at one height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wires {
    /// How many.
    pub count: f64,
    /// Diameter of the bare wire.
    pub diameter: Mm,
    /// Thickness of ice all round.
    pub ice: Mm,
    /// Wind span: half of the spans to either side together.
    pub span: Mm,
    /// Height of their attachment above the groundline.
    pub height: Mm,
}

impl Wires {
    /// Wind load on one of them, newtons a metre.
    pub fn load_per_metre(&self, pressure: Pressure) -> f64 {
        pressure.0 * (self.diameter.0 + 2.0 * self.ice.0) / 1e3
    }

    /// Moment at the groundline of a wind pressure on all of them.
    pub fn moment(&self, pressure: Pressure) -> NewtonMetre {
        let load = self.count * self.load_per_metre(pressure) * self.span.0 / 1e3;
        NewtonMetre(load * self.height.0 / 1e3)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cylinder_takes_its_load_at_half_its_height() {
        // 500 Pa on 10 m by 0.3 m: 1500 N at 5 m.
        let moment = moment_on_pole(Pressure(500.0), Mm(10_000.0), Mm(300.0), Mm(300.0));
        assert!((moment.0 - 7500.0).abs() < 1e-9);
    }

    #[test]
    fn wires_pull_at_their_height() {
        let wires = Wires {
            count: 3.0,
            diameter: Mm(10.0),
            ice: Mm(5.0),
            span: Mm(50_000.0),
            height: Mm(9_000.0),
        };
        // 400 Pa on 20 mm: 8 N/m; 3 x 8 x 50 = 1200 N at 9 m.
        assert!((wires.load_per_metre(Pressure(400.0)) - 8.0).abs() < 1e-9);
        assert!((wires.moment(Pressure(400.0)).0 - 10_800.0).abs() < 1e-9);
    }
}
