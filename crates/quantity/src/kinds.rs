//! Every quantity type of the project, and the products and quotients that are allowed between them.
//!
//! Each type is a thin shell round a `uom` quantity, so that the dimension of every operator below is checked by the
//! compiler, while `new` and `get` speak the unit in which the trade writes the quantity.
//! Never: reads or writes text (see `units.rs`).
//! Start at the `quantity!` list; the allowed products are the `product!` and `plain_product!` lists.

use core::fmt;
use core::iter::Sum;
use core::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};
use uom::si;
use uom::si::f64 as u;

/// Gives a shell type, whose `new` and `get` stand elsewhere, the arithmetic of a quantity.
macro_rules! arithmetic {
    ($name:ident) => {
        impl $name {
            /// Nothing of it.
            pub fn zero() -> Self {
                Self::new(0.0)
            }
            /// The larger of two.
            pub fn max(self, other: Self) -> Self {
                if other > self { other } else { self }
            }
            /// The smaller of two.
            pub fn min(self, other: Self) -> Self {
                if other < self { other } else { self }
            }
            /// Held between two bounds; the upper bound wins when they cross.
            pub fn clamp(self, low: Self, high: Self) -> Self {
                self.max(low).min(high)
            }
            /// The magnitude.
            pub fn abs(self) -> Self {
                Self(self.0.abs())
            }
            /// Total order, for sorting.
            pub fn total_cmp(&self, other: &Self) -> core::cmp::Ordering {
                self.get().total_cmp(&other.get())
            }
        }
        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{}({})", stringify!($name), self.get())
            }
        }
        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }
        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }
        impl AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                *self = *self + other;
            }
        }
        impl SubAssign for $name {
            fn sub_assign(&mut self, other: Self) {
                *self = *self - other;
            }
        }
        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }
        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }
        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }
        impl Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.get() / other.get()
            }
        }
        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
                items.fold(Self::zero(), |total, item| total + item)
            }
        }
    };
}

/// Declares a quantity type round a `uom` quantity: name, `uom` quantity and the `uom` unit of `new` and `get`.
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident = $uom:ident, $module:ident :: $unit:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(u::$uom);

        impl $name {
            /// Makes the quantity from a number in the unit named in the type's documentation.
            pub fn new(value: f64) -> Self {
                Self(u::$uom::new::<si::$module::$unit>(value))
            }
            /// The number in the unit named in the type's documentation.
            pub fn get(self) -> f64 {
                self.0.get::<si::$module::$unit>()
            }
        }
        arithmetic!($name);
    };
}

/// Declares a quantity type that `uom` does not know, round a plain number.
macro_rules! plain {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            /// Makes the quantity from a number in the unit named in the type's documentation.
            pub fn new(value: f64) -> Self {
                Self(value)
            }
            /// The number in the unit named in the type's documentation.
            pub fn get(self) -> f64 {
                self.0
            }
        }
        arithmetic!($name);
    };
}

quantity!(/// Electric potential \[V\].
    Volts = ElectricPotential, electric_potential::volt);
quantity!(/// Electric current \[A\].
    Amps = ElectricCurrent, electric_current::ampere);
quantity!(/// Resistance \[Ω\].
    Ohms = ElectricalResistance, electrical_resistance::ohm);
quantity!(/// Real power \[W\].
    Watts = Power, power::watt);
quantity!(/// Apparent power \[VA\]: volts times amps, whatever their phase.
    VoltAmps = Power, power::watt);
quantity!(/// Energy \[Wh\].
    WattHours = Energy, energy::watt_hour);
quantity!(/// Electric charge, and so the capacity of a battery \[Ah\].
    AmpHours = ElectricCharge, electric_charge::ampere_hour);
quantity!(/// Duration \[h\].
    Hours = Time, time::hour);
quantity!(/// Length \[m\].
    Metres = Length, length::meter);
quantity!(/// Area; a conductor's cross-section \[mm²\].
    SquareMm = Area, area::square_millimeter);
quantity!(/// Mass \[kg\].
    Kilograms = Mass, mass::kilogram);
quantity!(/// Volume \[L\].
    Litres = Volume, volume::liter);
quantity!(/// Capacitance \[F\].
    Farads = Capacitance, capacitance::farad);
quantity!(/// Inductance \[H\].
    Henries = Inductance, inductance::henry);
quantity!(/// A short duration, as in a transient \[s\].
    Seconds = Time, time::second);
quantity!(/// A small energy, as in a transient \[J\].
    Joules = Energy, energy::joule);
quantity!(/// Torque \[N·m\].
    NewtonMetres = Torque, torque::newton_meter);
quantity!(/// Frequency \[Hz\].
    Hertz = Frequency, frequency::hertz);
quantity!(/// Plane angle: latitude, longitude, tilt, heading \[°\].
    Degrees = Angle, angle::degree);
quantity!(/// A pure ratio; 1.0 is 100 %. Efficiency, share, duty, depth of discharge.
    Fraction = Ratio, ratio::ratio);

plain!(/// Resistance of a length of conductor \[Ω/km\].
    OhmsPerKm);
plain!(/// A difference of temperature \[K\].
    Kelvins);
plain!(/// Relative change with temperature \[%/K\].
    PercentPerKelvin);
plain!(/// Duration of use on each day \[h/day\].
    HoursPerDay);
plain!(/// How often something runs on each day \[/day\].
    PerDay);
plain!(/// Energy used or gained on each day \[Wh/day\].
    WattHoursPerDay);
plain!(/// I²t \[A²s\]: what a fault lets through before it is cleared, or what a conductor withstands.
    SquareAmpSeconds);
plain!(/// A price, in one currency unit that is the same throughout and not named.
    Money);

/// Declares `A · B = C` with `B · A = C`, `C / A = B` and `C / B = A`; `uom` checks the dimensions.
macro_rules! product {
    ($a:ident * $b:ident = $c:ident) => {
        impl Mul<$b> for $a {
            type Output = $c;
            fn mul(self, other: $b) -> $c {
                $c((self.0 * other.0).into())
            }
        }
        impl Mul<$a> for $b {
            type Output = $c;
            fn mul(self, other: $a) -> $c {
                $c((self.0 * other.0).into())
            }
        }
        impl Div<$a> for $c {
            type Output = $b;
            fn div(self, other: $a) -> $b {
                $b((self.0 / other.0).into())
            }
        }
        impl Div<$b> for $c {
            type Output = $a;
            fn div(self, other: $b) -> $a {
                $a((self.0 / other.0).into())
            }
        }
    };
}

product!(Volts * Amps = Watts);
product!(Amps * Ohms = Volts);
product!(Watts * Hours = WattHours);
product!(Amps * Hours = AmpHours);
product!(Volts * AmpHours = WattHours);

impl Volts {
    /// Apparent power at a current.
    pub fn apparent(self, current: Amps) -> VoltAmps {
        VoltAmps(self.0 * current.0)
    }
}

impl Amps {
    /// Heat made in a resistance, `I² · R`.
    pub fn loss(self, resistance: Ohms) -> Watts {
        self * (self * resistance)
    }

    /// I²t of this current over a duration.
    pub fn squared_over(self, duration: Seconds) -> SquareAmpSeconds {
        SquareAmpSeconds::new(self.get() * self.get() * duration.get())
    }
}

impl Ohms {
    /// Resistance of the two side by side; the sum is that of the two in a row.
    pub fn parallel(self, other: Ohms) -> Ohms {
        if self == Ohms::zero() || other == Ohms::zero() {
            Ohms::zero()
        } else {
            // Through conductances, so that an infinite resistance leaves the other alone.
            Ohms::new(1.0 / (1.0 / self.get() + 1.0 / other.get()))
        }
    }
}

impl Fraction {
    /// The whole, 100 %.
    pub fn one() -> Self {
        Self::new(1.0)
    }

    /// What is missing to the whole.
    pub fn rest(self) -> Self {
        Self::one() - self
    }
}

impl Mul for Fraction {
    type Output = Fraction;
    fn mul(self, other: Fraction) -> Fraction {
        Self(self.0 * other.0)
    }
}

/// Declares a share of a quantity, and the whole of which a quantity is the share.
macro_rules! share {
    ($($name:ident)*) => {
        $(
            impl Mul<$name> for Fraction {
                type Output = $name;
                fn mul(self, whole: $name) -> $name {
                    whole * self.get()
                }
            }
            impl Mul<Fraction> for $name {
                type Output = $name;
                fn mul(self, share: Fraction) -> $name {
                    self * share.get()
                }
            }
            impl Div<Fraction> for $name {
                type Output = $name;
                fn div(self, share: Fraction) -> $name {
                    self / share.get()
                }
            }
        )*
    };
}

share!(Volts Amps Ohms Watts VoltAmps WattHours AmpHours Hours Metres Kilograms Money WattHoursPerDay);

/// Declares products of plain quantities: `a · b = c`, with a factor where their units differ.
macro_rules! plain_product {
    ($a:ident * $b:ident = $c:ident / $per:literal) => {
        impl Mul<$b> for $a {
            type Output = $c;
            fn mul(self, other: $b) -> $c {
                $c::new(self.get() * other.get() / $per)
            }
        }
        impl Mul<$a> for $b {
            type Output = $c;
            fn mul(self, other: $a) -> $c {
                other * self
            }
        }
    };
}

plain_product!(OhmsPerKm * Metres = Ohms / 1000.0);
plain_product!(Watts * HoursPerDay = WattHoursPerDay / 1.0);
plain_product!(WattHours * PerDay = WattHoursPerDay / 1.0);
plain_product!(Hours * PerDay = HoursPerDay / 1.0);
plain_product!(WattHoursPerDay * Hours = WattHours / 24.0);
plain_product!(PercentPerKelvin * Kelvins = Fraction / 100.0);

impl WattHoursPerDay {
    /// The steady power that gives the same energy.
    pub fn average(self) -> Watts {
        Watts::new(self.get() / 24.0)
    }
}

/// Declares two types of one quantity, which differ in the unit they speak.
macro_rules! same {
    ($a:ident = $b:ident) => {
        impl From<$a> for $b {
            fn from(other: $a) -> $b {
                $b(other.0)
            }
        }
        impl From<$b> for $a {
            fn from(other: $b) -> $a {
                $a(other.0)
            }
        }
    };
}

same!(Hours = Seconds);
same!(WattHours = Joules);

/// A temperature on the Celsius scale \[°C\]: a point, so that two of them subtract to [`Kelvins`].
#[derive(Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Celsius(f64);

impl Celsius {
    /// A temperature from degrees Celsius.
    pub fn new(value: f64) -> Self {
        Self(value)
    }
    /// Degrees Celsius.
    pub fn get(self) -> f64 {
        self.0
    }
    /// The warmer of two.
    pub fn max(self, other: Self) -> Self {
        if other > self { other } else { self }
    }
    /// The colder of two.
    pub fn min(self, other: Self) -> Self {
        if other < self { other } else { self }
    }
    /// Held between two bounds; the upper bound wins when they cross.
    pub fn clamp(self, low: Self, high: Self) -> Self {
        self.max(low).min(high)
    }
    /// Total order, for sorting.
    pub fn total_cmp(&self, other: &Self) -> core::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

impl Sub for Celsius {
    type Output = Kelvins;
    fn sub(self, other: Self) -> Kelvins {
        Kelvins::new(self.0 - other.0)
    }
}

impl Add<Kelvins> for Celsius {
    type Output = Celsius;
    fn add(self, difference: Kelvins) -> Celsius {
        Celsius(self.0 + difference.get())
    }
}

impl Sub<Kelvins> for Celsius {
    type Output = Celsius;
    fn sub(self, difference: Kelvins) -> Celsius {
        Celsius(self.0 - difference.get())
    }
}

impl fmt::Debug for Celsius {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Celsius({})", self.0)
    }
}
