//! The size of a conductor as it is named in the shop: an AWG number or a metric cross-section.
//! Never: takes a size of one series for one of the other, or says how much current a size carries (see `reference`).
//! Start at [`Gauge`].

use crate::decimal::Decimal;
use crate::error::{Problem, QuantityError};
use crate::math;
use crate::written::{Kind, Scale, Unit, Written, normal, unit_problem};
use crate::{Fraction, Metres, SquareMm};
use core::fmt;

/// A conductor size. AWG and metric sizes are different series: a size of one is never silently taken for the other.
/// Order is by cross-section of metal.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Gauge {
    /// American wire gauge by its number in ASTM B258: 18 .. 1, 0 for 1/0, -1 for 2/0, -2 for 3/0, -3 for 4/0.
    Awg(i8),
    /// Metric nominal cross-section in hundredths of a square millimetre, so that sizes compare exactly.
    Metric(u32),
}

/// A size of the other series and how much more metal it has.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Nearest {
    /// The size.
    pub size: Gauge,
    /// Its cross-section beyond that of the size asked for, as a share of the latter; 0 or more.
    pub excess: Fraction,
}

impl Gauge {
    /// AWG sizes in common use, thin to thick. Common practice, no source.
    pub const AWG: &[Gauge] = &[
        Gauge::Awg(18),
        Gauge::Awg(16),
        Gauge::Awg(14),
        Gauge::Awg(12),
        Gauge::Awg(10),
        Gauge::Awg(8),
        Gauge::Awg(6),
        Gauge::Awg(4),
        Gauge::Awg(3),
        Gauge::Awg(2),
        Gauge::Awg(1),
        Gauge::Awg(0),
        Gauge::Awg(-1),
        Gauge::Awg(-2),
        Gauge::Awg(-3),
    ];

    /// Nominal metric cross-sections of IEC 60228, thin to thick, to 240 mm² (from memory).
    pub const METRIC: &[Gauge] = &[
        Gauge::Metric(50),
        Gauge::Metric(75),
        Gauge::Metric(100),
        Gauge::Metric(150),
        Gauge::Metric(250),
        Gauge::Metric(400),
        Gauge::Metric(600),
        Gauge::Metric(1000),
        Gauge::Metric(1600),
        Gauge::Metric(2500),
        Gauge::Metric(3500),
        Gauge::Metric(5000),
        Gauge::Metric(7000),
        Gauge::Metric(9500),
        Gauge::Metric(12000),
        Gauge::Metric(15000),
        Gauge::Metric(18500),
        Gauge::Metric(24000),
    ];

    /// Cross-section of metal \[mm²\]; for AWG by ASTM B258: `d = 0.005 in * 92^((36 - n) / 39)`, area `pi/4 d^2`.
    /// For metric sizes the nominal cross-section.
    pub fn area(self) -> SquareMm {
        match self {
            Gauge::Awg(_) => {
                let diameter_mm = self.diameter_mm();
                SquareMm::new(core::f64::consts::FRAC_PI_4 * diameter_mm * diameter_mm)
            }
            Gauge::Metric(hundredths) => SquareMm::new(f64::from(hundredths) / 100.0),
        }
    }

    /// Diameter of a solid round conductor of the same cross-section; a stranded one is thicker.
    pub fn diameter(self) -> Metres {
        Metres::new(self.diameter_mm() / 1000.0)
    }

    /// Cross-section in circular mils: the square of the solid diameter in thousandths of an inch.
    pub fn circular_mils(self) -> f64 {
        let mils = self.diameter_mm() / 0.0254;
        mils * mils
    }

    fn diameter_mm(self) -> f64 {
        match self {
            Gauge::Awg(n) => 0.127 * math::powf(92.0, (36.0 - f64::from(n)) / 39.0),
            Gauge::Metric(hundredths) => {
                (f64::from(hundredths) / 100.0 / core::f64::consts::FRAC_PI_4).sqrt()
            }
        }
    }

    /// The thinnest metric size with at least as much metal; `None` above 240 mm².
    pub fn nearest_metric_not_smaller(self) -> Option<Nearest> {
        self.nearest_in(Gauge::METRIC)
    }

    /// The thinnest AWG size with at least as much metal; `None` above 4/0 AWG.
    pub fn nearest_awg_not_smaller(self) -> Option<Nearest> {
        self.nearest_in(Gauge::AWG)
    }

    fn nearest_in(self, series: &[Gauge]) -> Option<Nearest> {
        let size = *series.iter().find(|size| **size >= self)?;
        Some(Nearest { size, excess: Fraction::new(size.area() / self.area() - 1.0) })
    }

    /// The size as it is named: `2/0 AWG`, `35 mm²`.
    pub fn brief(self) -> String {
        self.show()
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

impl fmt::Display for Gauge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.show())
    }
}

/// What errors and schemas say of conductor sizes. Square millimetres stand with [`SquareMm`] for look-up.
pub(crate) const KIND: Kind = Kind {
    name: "Gauge",
    what: "a conductor size",
    meaning: "Size of a conductor: an AWG number or a metric cross-section; the two series stay apart",
    unit: "AWG or mm²",
    example: "2/0 AWG",
    units: &[
        Unit { symbol: "AWG", also: &["awg"], scale: Scale::Ten(0), from: None },
        Unit { symbol: "mm²", also: &["mm2", "sq mm", "sqmm"], scale: Scale::Ten(0), from: None },
    ],
};

impl Written for Gauge {
    const WHAT: &'static str = KIND.what;
    const EXAMPLE: &'static str = KIND.example;

    fn parse(text: &str) -> Result<Self, QuantityError> {
        let refuse = |problem| QuantityError::new(&KIND, text, problem);
        let own = |message: String, hint: &str| refuse(Problem::Own { message, hint: hint.to_string() });
        let found = text.trim();
        let lower = normal(found).to_lowercase();
        if lower.is_empty() {
            return Err(refuse(Problem::Empty));
        }
        // SAE J1127 and J1128 set minimum areas below those of ASTM B258; 6 to 12 % is from memory.
        if lower.contains("sae") || lower.contains("ga") {
            let hint = "SAE gauge wire holds about 6 to 12 % less copper than AWG of the same number; \
                        write the size as `10 AWG` if it is AWG, or its metal as `5 mm²`";
            return Err(own(format!("`{found}` may mean SAE gauge or AWG"), hint));
        }
        if lower.contains("kcmil") || lower.contains("mcm") {
            let hint = "write its cross-section, such as `120 mm²`; 1 kcmil is 0.5067 mm²";
            return Err(own(
                format!("`{found}` is a size in thousands of circular mils, which is not read here"),
                hint,
            ));
        }
        if let Some(size) = lower.strip_prefix("awg").or_else(|| lower.strip_suffix("awg")) {
            return awg(size.strip_prefix('#').unwrap_or(size)).ok_or_else(|| not_awg(found, &own));
        }
        if lower.contains('/') {
            return awg(&lower).ok_or_else(|| not_awg(found, &own));
        }
        let (number, unit) = Decimal::split(found).map_err(refuse)?;
        match normal(unit).to_lowercase().as_str() {
            "" => {
                let (number, as_awg) = (number.text(), awg(&number.text()));
                let hint = match as_awg {
                    Some(size) => format!("write `{size}` or `{number} mm²`"),
                    None => format!("write `{number} mm²`"),
                };
                Err(own(format!("`{found}` does not say whether it is AWG or mm²"), &hint))
            }
            "mm²" | "mm2" | "sqmm" => {
                let hundredths = number.clone().shifted(2).number().map_err(refuse)?;
                if hundredths.fract() == 0.0 && (1.0..=100_000.0).contains(&hundredths) {
                    Ok(Gauge::Metric(hundredths as u32))
                } else {
                    let hint = "write a size such as `2.5 mm²` or `35 mm²`, between 0.01 mm² and 1000 mm², with at most two decimals";
                    Err(own(format!("`{found}` is not a conductor size"), hint))
                }
            }
            _ => Err(refuse(unit_problem(&KIND, &number, unit.trim()))),
        }
    }

    fn show(&self) -> String {
        match self {
            Gauge::Awg(n) if *n > 0 => format!("{n} AWG"),
            Gauge::Awg(n) => format!("{}/0 AWG", 1 - i16::from(*n)),
            Gauge::Metric(hundredths) => {
                let text = format!("{}.{:02}", hundredths / 100, hundredths % 100);
                format!("{} mm²", text.trim_end_matches('0').trim_end_matches('.'))
            }
        }
    }
}

/// The AWG size of `10`, `0`, `00` or `2/0`; thinner than 30 is no power wire.
fn awg(size: &str) -> Option<Gauge> {
    if let Some(zeros) = size.strip_suffix("/0") {
        return match zeros {
            "1" | "2" | "3" | "4" => Some(Gauge::Awg(1 - zeros.parse::<i8>().ok()?)),
            _ => None,
        };
    }
    match size {
        "0" => Some(Gauge::Awg(0)),
        "00" => Some(Gauge::Awg(-1)),
        "000" => Some(Gauge::Awg(-2)),
        "0000" => Some(Gauge::Awg(-3)),
        _ if size.bytes().all(|c| c.is_ascii_digit()) && !size.starts_with('0') => {
            size.parse::<i8>().ok().filter(|n| (1..=30).contains(n)).map(Gauge::Awg)
        }
        _ => None,
    }
}

fn not_awg(found: &str, own: &dyn Fn(String, &str) -> QuantityError) -> QuantityError {
    own(
        format!("`{found}` is not an AWG size"),
        "write a size from `30 AWG` to `1 AWG`, or `1/0 AWG` to `4/0 AWG`",
    )
}

impl serde::Serialize for Gauge {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&self.show())
    }
}

crate::serial::from_text!(Gauge, &KIND);
