//! The size of a conductor as it is named in the shop: an AWG number or a metric cross-section.

use crate::SquareMm;

/// A conductor size. AWG and metric sizes are different series: a size of one is never silently taken for the other.
/// Order is by cross-section of metal.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Gauge {
    /// American wire gauge by its number in ASTM B258: 18 .. 1, 0 for 1/0, -1 for 2/0, -2 for 3/0, -3 for 4/0.
    Awg(i8),
    /// Metric nominal cross-section in hundredths of a square millimetre, so that sizes compare exactly.
    Metric(u32),
}

impl Gauge {
    /// Cross-section of metal [mm²]; for AWG by ASTM B258: `d = 0.005 in * 92^((36 - n) / 39)`, area `pi/4 d^2`.
    pub fn area(self) -> SquareMm {
        match self {
            Gauge::Awg(n) => {
                let diameter_mm = 0.127 * 92f64.powf((36.0 - f64::from(n)) / 39.0);
                SquareMm::new(core::f64::consts::FRAC_PI_4 * diameter_mm * diameter_mm)
            }
            Gauge::Metric(hundredths) => SquareMm::new(f64::from(hundredths) / 100.0),
        }
    }
}

impl PartialOrd for Gauge {
    fn partial_cmp(&self, other: &Self) -> Option<core::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Gauge {
    fn cmp(&self, other: &Self) -> core::cmp::Ordering {
        self.area().total_cmp(&other.area())
    }
}
