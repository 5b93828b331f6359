//! The inputs of a row, read by name and unit; a name that nothing reads is an error.
//! Never: fills in a quantity that a row does not give.
//! Start at [`Inputs`].

use quantity::{Gauge, Written};
use reference::{ColourRole, FuseOrBreaker, Insulation, RuleSet, SystemVoltage};
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

/// The inputs of one row.
pub struct Inputs<'a> {
    values: &'a BTreeMap<String, toml::Value>,
    used: RefCell<BTreeSet<String>>,
}

impl<'a> Inputs<'a> {
    /// Inputs over a row's table.
    pub fn new(values: &'a BTreeMap<String, toml::Value>) -> Self {
        Self { values, used: RefCell::new(BTreeSet::new()) }
    }

    fn value(&self, name: &str) -> Option<&'a toml::Value> {
        self.used.borrow_mut().insert(name.to_owned());
        self.values.get(name)
    }

    /// Whether the row gives it.
    pub fn has(&self, name: &str) -> bool {
        self.values.contains_key(name)
    }

    /// Words.
    pub fn text(&self, name: &str) -> Result<&'a str, String> {
        let value = self.value(name).ok_or_else(|| format!("input `{name}` is missing"))?;
        value.as_str().ok_or_else(|| format!("input `{name}` should be words in quotes"))
    }

    /// A quantity with its unit.
    pub fn of<T: Written>(&self, name: &str) -> Result<T, String> {
        T::parse(self.text(name)?).map_err(|error| format!("input `{name}`: {error}"))
    }

    /// A bare number.
    pub fn number(&self, name: &str) -> Result<f64, String> {
        let value = self.value(name).ok_or_else(|| format!("input `{name}` is missing"))?;
        number(value).ok_or_else(|| format!("input `{name}` should be a number"))
    }

    /// A whole number, or a fallback.
    pub fn count(&self, name: &str, fallback: u32) -> Result<u32, String> {
        match self.value(name) {
            None => Ok(fallback),
            Some(value) => {
                let count = value.as_integer().and_then(|count| u32::try_from(count).ok());
                count.ok_or_else(|| format!("input `{name}` should be a whole number"))
            }
        }
    }

    /// True or false; false where it is not given.
    pub fn flag(&self, name: &str) -> Result<bool, String> {
        match self.value(name) {
            None => Ok(false),
            Some(value) => value.as_bool().ok_or_else(|| format!("input `{name}` should be true or false")),
        }
    }

    /// A conductor size.
    pub fn gauge(&self) -> Result<Gauge, String> {
        self.of("gauge")
    }

    /// The rule set.
    pub fn rules(&self) -> Result<RuleSet, String> {
        match self.text("rules")? {
            "na" => Ok(RuleSet::Na),
            "iec" => Ok(RuleSet::Iec),
            other => Err(format!("input `rules`: {other:?} is neither na nor iec")),
        }
    }

    /// Temperature rating of insulation.
    pub fn insulation(&self) -> Result<Insulation, String> {
        self.text("insulation")?.parse().map_err(|error: reference::OutOfTable| error.to_string())
    }

    /// Voltage class.
    pub fn system(&self) -> Result<SystemVoltage, String> {
        match self.text("system")? {
            "under 50 V" => Ok(SystemVoltage::Under50),
            "over 50 V" => Ok(SystemVoltage::Over50),
            "ac" => Ok(SystemVoltage::Ac),
            other => Err(format!("input `system`: {other:?} is none of: under 50 V, over 50 V, ac")),
        }
    }

    /// Fuse or breaker.
    pub fn kind(&self) -> Result<FuseOrBreaker, String> {
        match self.text("kind")? {
            "fuse" => Ok(FuseOrBreaker::Fuse),
            "breaker" => Ok(FuseOrBreaker::Breaker),
            other => Err(format!("input `kind`: {other:?} is neither fuse nor breaker")),
        }
    }

    /// What a conductor is for.
    pub fn role(&self) -> Result<ColourRole, String> {
        match self.text("role")? {
            "dc positive" => Ok(ColourRole::DcPositive),
            "dc negative" => Ok(ColourRole::DcNegative),
            "line 1" => Ok(ColourRole::Line1),
            "line 2" => Ok(ColourRole::Line2),
            "neutral" => Ok(ColourRole::Neutral),
            "protective earth" => Ok(ColourRole::ProtectiveEarth),
            "bonding" => Ok(ColourRole::Bonding),
            other => Err(format!("input `role`: {other:?} is not a role")),
        }
    }

    /// Fails where the row gives an input that the call does not read.
    pub fn all_used(&self) -> Result<(), String> {
        let used = self.used.borrow();
        match self.values.keys().find(|name| !used.contains(*name)) {
            Some(name) => Err(format!("the call does not read input `{name}`")),
            None => Ok(()),
        }
    }
}

/// A number of a TOML value, whole or not.
pub(crate) fn number(value: &toml::Value) -> Option<f64> {
    value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64))
}
