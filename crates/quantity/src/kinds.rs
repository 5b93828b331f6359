//! Every quantity type of the project, and the products and quotients that are allowed between them.
//!
//! Each type is a thin shell round a `uom` quantity, so that the dimension of every operator below is checked by the
//! compiler, while `new` and `get` speak the unit in which the trade writes the quantity.

use core::fmt;
use core::iter::Sum;
use core::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};
use uom::si;
use uom::si::f64 as u;

/// Declares a quantity type: name, `uom` quantity, `uom` unit and the symbol shown.
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
            /// The magnitude.
            pub fn abs(self) -> Self {
                Self::new(self.get().abs())
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

quantity!(/// Electric potential [V].
    Volts = ElectricPotential, electric_potential::volt);
quantity!(/// Electric current [A].
    Amps = ElectricCurrent, electric_current::ampere);
quantity!(/// Resistance [Ω].
    Ohms = ElectricalResistance, electrical_resistance::ohm);
quantity!(/// Real power [W].
    Watts = Power, power::watt);
quantity!(/// Energy [Wh].
    WattHours = Energy, energy::watt_hour);
quantity!(/// Electric charge, and so the capacity of a battery [Ah].
    AmpHours = ElectricCharge, electric_charge::ampere_hour);
quantity!(/// Duration [h].
    Hours = Time, time::hour);
quantity!(/// Length [m].
    Metres = Length, length::meter);
quantity!(/// Area; a conductor's cross-section [mm²].
    SquareMm = Area, area::square_millimeter);
quantity!(/// Mass [kg].
    Kilograms = Mass, mass::kilogram);
quantity!(/// Capacitance [F].
    Farads = Capacitance, capacitance::farad);
quantity!(/// Torque [N·m].
    NewtonMetres = Torque, torque::newton_meter);
quantity!(/// Frequency [Hz].
    Hertz = Frequency, frequency::hertz);
quantity!(/// Plane angle: latitude, longitude, tilt, heading [°].
    Degrees = Angle, angle::degree);
quantity!(/// A pure ratio; 1.0 is 100 %. Efficiency, share, duty, depth of discharge.
    Fraction = Ratio, ratio::ratio);

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

/// A temperature on the Celsius scale [°C]: a point, so that two of them subtract to [`Kelvins`].
#[derive(Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Celsius(f64);

/// A difference of temperature [K].
#[derive(Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Kelvins(f64);

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
}

impl Kelvins {
    /// A difference from kelvins.
    pub fn new(value: f64) -> Self {
        Self(value)
    }
    /// Kelvins.
    pub fn get(self) -> f64 {
        self.0
    }
}

impl Sub for Celsius {
    type Output = Kelvins;
    fn sub(self, other: Self) -> Kelvins {
        Kelvins(self.0 - other.0)
    }
}

impl Add<Kelvins> for Celsius {
    type Output = Celsius;
    fn add(self, difference: Kelvins) -> Celsius {
        Celsius(self.0 + difference.0)
    }
}

impl fmt::Debug for Celsius {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Celsius({})", self.0)
    }
}

impl fmt::Debug for Kelvins {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Kelvins({})", self.0)
    }
}

/// Resistance of a length of conductor [Ω/km].
#[derive(Clone, Copy, PartialEq, PartialOrd, Default, Debug)]
pub struct OhmsPerKm(f64);

impl OhmsPerKm {
    /// From ohms per kilometre.
    pub fn new(value: f64) -> Self {
        Self(value)
    }
    /// Ohms per kilometre.
    pub fn get(self) -> f64 {
        self.0
    }
}

impl Mul<f64> for OhmsPerKm {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self(self.0 * factor)
    }
}

impl Mul<Metres> for OhmsPerKm {
    type Output = Ohms;
    fn mul(self, length: Metres) -> Ohms {
        Ohms::new(self.0 * length.get() / 1000.0)
    }
}
