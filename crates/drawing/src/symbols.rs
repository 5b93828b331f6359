//! The symbols, after the practice of IEC 60617 and ANSI Y32, drawn by us in millimetres about their own centre.
//! Never: places anything. A symbol's wires meet it in the middle of its upper and lower edge.
//! Start at [`Glyph`]; [`Glyph::prims`] draws, [`Glyph::size`] is its box.

/// What a symbol shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Glyph {
    /// Storage battery.
    Battery,
    /// Fuse.
    Fuse,
    /// Circuit breaker.
    Breaker,
    /// Residual-current device.
    Residual,
    /// Disconnect (isolator).
    Disconnect,
    /// Shunt.
    Shunt,
    /// Charging relay.
    Relay,
    /// Busbar.
    Busbar,
    /// Panel bus.
    Panel,
    /// Inverter.
    Inverter,
    /// Inverter-charger.
    InverterCharger,
    /// Converter or DC-DC charger.
    Converter,
    /// Charger on alternating current.
    Charger,
    /// Solar charge controller.
    Controller,
    /// Solar array.
    Array,
    /// Alternator.
    Alternator,
    /// Generator.
    Generator,
    /// Shore inlet.
    Inlet,
    /// Transfer switch.
    Transfer,
    /// Motor.
    Motor,
    /// Heater or filament lamp.
    Heater,
    /// Electronic load.
    Electronic,
    /// Chassis or hull bond.
    Chassis,
    /// Earth electrode.
    Earth,
    /// The other end of a line that is drawn elsewhere.
    Tag,
    /// A device that is named beside an arrow.
    Arrow,
}

/// A stroke or area of a symbol.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Prim {
    /// Path, stroked.
    Line(&'static str),
    /// Path, stroked heavy.
    Heavy(&'static str),
    /// Path, filled with ink.
    Solid(&'static str),
    /// Path, filled with paper and stroked.
    Shape(&'static str),
    /// Circle at the centre, filled with paper and stroked: radius.
    Circle(f64),
    /// A letter: x, y of the baseline, size.
    Letter(f64, f64, f64, &'static str),
}

impl Glyph {
    /// Width and height of the ink \[mm\], upright.
    pub fn size(self) -> (f64, f64) {
        match self {
            Glyph::Fuse => (3.0, 8.0),
            Glyph::Breaker | Glyph::Disconnect => (5.6, 8.0),
            Glyph::Residual => (5.6, 9.6),
            Glyph::Shunt => (6.4, 8.0),
            Glyph::Relay => (8.4, 8.0),
            Glyph::Battery => (8.0, 8.0),
            Glyph::Busbar | Glyph::Panel => (10.0, 1.4),
            Glyph::Inverter
            | Glyph::InverterCharger
            | Glyph::Converter
            | Glyph::Charger
            | Glyph::Controller
            | Glyph::Transfer => (11.0, 11.0),
            Glyph::Array => (13.0, 9.0),
            Glyph::Alternator | Glyph::Generator => (10.0, 10.0),
            Glyph::Inlet => (9.0, 8.0),
            Glyph::Motor | Glyph::Heater | Glyph::Electronic => (5.0, 5.0),
            Glyph::Chassis | Glyph::Earth => (8.0, 5.4),
            Glyph::Tag => (6.4, 5.0),
            Glyph::Arrow => (3.2, 2.8),
        }
    }
    /// Whether it turns with the line; boxes and letters stay upright.
    pub fn turns(self) -> bool {
        matches!(
            self,
            Glyph::Battery
                | Glyph::Fuse
                | Glyph::Breaker
                | Glyph::Residual
                | Glyph::Disconnect
                | Glyph::Shunt
                | Glyph::Relay
        )
    }
    /// Its name in the legend.
    pub fn word(self) -> &'static str {
        match self {
            Glyph::Battery => "Battery",
            Glyph::Fuse => "Fuse",
            Glyph::Breaker => "Breaker",
            Glyph::Residual => "Residual-current breaker",
            Glyph::Disconnect => "Disconnect",
            Glyph::Shunt => "Shunt",
            Glyph::Relay => "Charging relay",
            Glyph::Busbar => "Busbar",
            Glyph::Panel => "Panel bus",
            Glyph::Inverter => "Inverter",
            Glyph::InverterCharger => "Inverter-charger",
            Glyph::Converter => "DC-DC",
            Glyph::Charger => "Charger",
            Glyph::Controller => "Charge controller",
            Glyph::Array => "Solar array",
            Glyph::Alternator => "Alternator",
            Glyph::Generator => "Generator",
            Glyph::Inlet => "Shore inlet",
            Glyph::Transfer => "Transfer switch",
            Glyph::Motor => "Motor",
            Glyph::Heater => "Heater, lamp",
            Glyph::Electronic => "Electronic load",
            Glyph::Chassis => "Chassis or hull",
            Glyph::Earth => "Earth electrode",
            Glyph::Tag => "Joins the same letter",
            Glyph::Arrow => "Goes to what is named",
        }
    }
    /// A short name for the definition in a file.
    pub fn id(self) -> String {
        format!("sym-{self:?}").to_lowercase()
    }
    /// Its strokes and areas.
    pub fn prims(self) -> &'static [Prim] {
        use Prim::{Circle, Heavy, Letter, Line, Shape, Solid};
        const BOX: Prim = Shape("M-5.5 -5.5H5.5V5.5H-5.5Z");
        const SLASH: Prim = Line("M-5.5 5.5L5.5 -5.5");
        const DC_UPPER: Prim = Line("M-4.4 -3.6H-0.6M-4.4 -2.3H-3.4M-3 -2.3H-2M-1.6 -2.3H-0.6");
        const DC_LOWER: Prim = Line("M0.6 2.6H4.4M0.6 3.9H1.6M2 3.9H3M3.4 3.9H4.4");
        const AC_UPPER: Prim = Line("M-4.4 -2.8q0.95 -2 1.9 0t1.9 0");
        const AC_LOWER: Prim = Line("M0.6 3.2q0.95 -2 1.9 0t1.9 0");
        match self {
            Glyph::Battery => &[
                Line("M0 -4V-2.1M0 2.1V4M-4 -2.1H4M-4 0.7H4"),
                Heavy("M-2 -0.7H2M-2 2.1H2"),
                Line("M2.2 -3.3H3.8M3 -4V-2.6"),
            ],
            Glyph::Fuse => &[Shape("M-1.5 -3H1.5V3H-1.5Z"), Line("M0 -4V4")],
            Glyph::Breaker => &[Line("M0 -4V-1.9M0 4V2.2L-2.6 -2M-0.9 -2.8L0.9 -1M0.9 -2.8L-0.9 -1")],
            Glyph::Residual => &[
                Line("M0 -4.8V-2.7M0 4.8V1.4L-2.6 -2.8M-0.9 -3.6L0.9 -1.8M0.9 -3.6L-0.9 -1.8"),
                Line("M-1.9 3.1a1.9 0.9 0 1 0 3.8 0a1.9 0.9 0 1 0 -3.8 0M1.9 3.1H2.7V-0.7H-1.2"),
            ],
            Glyph::Disconnect => &[Line("M0 -4V-2M-1.3 -2H1.3M0 4V2.2L-2.6 -1.9")],
            Glyph::Shunt => &[Shape("M-1.5 -3H1.5V3H-1.5Z"), Line("M0 -4V-3M0 3V4M1.5 -1.6H3.2M1.5 1.6H3.2")],
            Glyph::Relay => &[
                Line("M0 -4V-2M0 4V2.2L-2.4 -2.2M-1.3 0H2.2"),
                Shape("M2.2 -1.3H4.2V1.3H2.2Z"),
                Line("M2.2 1.3L4.2 -1.3"),
            ],
            Glyph::Busbar | Glyph::Panel => &[Solid("M-5 -0.7H5V0.7H-5Z")],
            Glyph::Inverter => &[BOX, SLASH, DC_UPPER, AC_LOWER],
            Glyph::InverterCharger => &[
                BOX,
                SLASH,
                DC_UPPER,
                AC_LOWER,
                Solid("M3.1 -4.4L4.6 -4.4L4.6 -2.9ZM-3.1 4.4L-4.6 4.4L-4.6 2.9Z"),
            ],
            Glyph::Converter => &[BOX, SLASH, DC_UPPER, DC_LOWER],
            Glyph::Charger => &[BOX, SLASH, AC_UPPER, DC_LOWER],
            Glyph::Controller => &[
                BOX,
                SLASH,
                Line(
                    "M-4.3 -2.9a1.3 1.3 0 1 0 2.6 0a1.3 1.3 0 1 0 -2.6 0M-1.2 -2.9H-0.4M-3 -1.1V-0.3M-1.7 -4.2L-1.2 -4.7",
                ),
                DC_LOWER,
            ],
            Glyph::Array => &[
                Shape("M-6.5 -4.5H6.5V4.5H-6.5Z"),
                Line("M-6.5 0H6.5M-2.2 -4.5V4.5M2.2 -4.5V4.5"),
                Solid("M-0.9 -4.5L0 -3.2L0.9 -4.5Z"),
            ],
            Glyph::Alternator => {
                &[Circle(5.0), Letter(0.0, 0.3, 4.2, "G"), Line("M-2 2.2H2M-2 3.2H-1M-0.5 3.2H0.5M1 3.2H2")]
            }
            Glyph::Generator => &[Circle(5.0), Letter(0.0, 0.3, 4.2, "G"), Line("M-2 2.6q1 -2 2 0t2 0")],
            Glyph::Inlet => &[
                Shape("M-4.5 4V0a4.5 4 0 0 1 9 0V4Z"),
                Solid("M-2.3 0.2H-1.3V2.8H-2.3ZM1.3 0.2H2.3V2.8H1.3ZM-0.5 -2.4H0.5V-0.4H-0.5Z"),
            ],
            Glyph::Transfer => &[
                BOX,
                Line("M-3 -5.5V-2.6M3 -5.5V-2.6M0 5.5V2.6L-2.5 -1.6"),
                Solid("M-3.6 -2.6H-2.4V-1.4H-3.6ZM2.4 -2.6H3.6V-1.4H2.4Z"),
            ],
            Glyph::Motor => &[Circle(2.5), Letter(0.0, 1.05, 3.0, "M")],
            Glyph::Heater => {
                &[Shape("M-2.5 -1.6H2.5V1.6H-2.5Z"), Line("M-1.25 -1.6V1.6M0 -1.6V1.6M1.25 -1.6V1.6")]
            }
            Glyph::Electronic => {
                &[Shape("M-2.5 -2.5H2.5V2.5H-2.5Z"), Line("M-1.4 0.6H-0.4V-0.7H0.5V0.6H1.4")]
            }
            Glyph::Chassis => &[Line("M0 -2.7V0M-3.2 0H3.8M-3.2 0L-4 2.7M0.3 0L-0.5 2.7M3.8 0L3 2.7")],
            Glyph::Earth => &[Line("M0 -2.7V-0.3M-4 -0.3H4M-2.6 1.2H2.6M-1.2 2.7H1.2")],
            Glyph::Tag => &[Shape("M-3.2 0L-1.2 -2.5H3.2V2.5H-1.2Z")],
            Glyph::Arrow => &[Solid("M-1.6 -1.4L1.6 0L-1.6 1.4Z")],
        }
    }
}
