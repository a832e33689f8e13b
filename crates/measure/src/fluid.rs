//! Air and water: density and viscosity.
//!
//! Water from the table of ITTC 7.5-02-01-03 "Fresh Water and Seawater Properties" (second-hand, three copies
//! agree), linear between its rows; seawater at the standard salinity of 35.165 g/kg. Valid 5 to 30 °C, held at the ends.

use crate::quantity::Temperature;

/// A fluid at one temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fluid {
    /// Density, kg/m3.
    pub density: f64,
    /// Kinematic viscosity, m2/s.
    pub viscosity: f64,
}

/// Sea or fresh water.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Water {
    /// Seawater of standard salinity.
    #[default]
    Sea,
    /// Fresh water.
    Fresh,
}

include!("fluid_table.rs");

impl Water {
    /// Its density and viscosity at a temperature; held at the table's ends outside 5 to 30 °C.
    #[must_use]
    pub fn at(self, temperature: Temperature) -> Fluid {
        let t = temperature.in_celsius();
        let column = |row: &[f64; 5]| match self {
            Self::Fresh => (row[1], row[2]),
            Self::Sea => (row[3], row[4]),
        };
        let last = WATER.len() - 1;
        let i = WATER.iter().position(|r| r[0] > t).unwrap_or(last).clamp(1, last);
        let (a, b) = (&WATER[i - 1], &WATER[i]);
        let k = ((t - a[0]) / (b[0] - a[0])).clamp(0.0, 1.0);
        let ((ra, va), (rb, vb)) = (column(a), column(b));
        Fluid { density: ra + k * (rb - ra), viscosity: va + k * (vb - va) }
    }
}

/// Dry air at 1013.25 hPa: ideal gas with 287.05 J/(kg K), viscosity by Sutherland's law.
///
/// Source: ICAO standard atmosphere constants (Doc 7488), from memory; 15 °C gives 1.225 kg/m3 and 1.461e-5 m2/s.
#[must_use]
pub fn air(temperature: Temperature) -> Fluid {
    let t = temperature.si();
    let density = 101_325.0 / (287.052_87 * t);
    let dynamic = 1.458e-6 * t.powf(1.5) / (t + 110.4);
    Fluid { density, viscosity: dynamic / density }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// H3: ITTC 7.5-02-01-03, 15 °C: 999.1026, 1.1386e-6; sea 1026.0210, 1.1892e-6. Tolerance 0.01 %, 0.5 %.
    #[test]
    fn water_at_fifteen_degrees() {
        let t = Temperature::celsius(15.0);
        let (f, s) = (Water::Fresh.at(t), Water::Sea.at(t));
        assert!((f.density / 999.1026 - 1.0).abs() < 1e-4 && (s.density / 1026.0210 - 1.0).abs() < 1e-4);
        assert!((f.viscosity / 1.1386e-6 - 1.0).abs() < 5e-3 && (s.viscosity / 1.1892e-6 - 1.0).abs() < 5e-3);
    }

    #[test]
    fn standard_air() {
        let a = air(Temperature::celsius(15.0));
        assert!((a.density - 1.225).abs() < 1e-3 && (a.viscosity / 1.461e-5 - 1.0).abs() < 2e-3);
    }
}
