//! Limits for readings from `data/commissioning.toml`, each with its source.
//! Never: holds a number of its own.
//! Start at [`limit`].

use std::sync::LazyLock;

use serde::Deserialize;

/// A limit with its source.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// Its key.
    pub key: String,
    /// What it limits.
    pub what: String,
    /// The number, in `unit`.
    pub value: f64,
    /// Unit of the number.
    pub unit: String,
    /// Where it stands.
    pub source: String,
    /// How well it is known: published, computed, memory.
    pub provenance: String,
}

impl Limit {
    /// Source and provenance, as shown.
    pub fn cite(&self) -> String {
        format!("{} ({})", self.source, self.provenance)
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Data {
    limit: Vec<Limit>,
}

/// Every limit.
pub fn limits() -> &'static [Limit] {
    static ALL: LazyLock<Vec<Limit>> = LazyLock::new(|| {
        match toml::from_str::<Data>(include_str!("../data/commissioning.toml")) {
            Ok(data) => data.limit,
            // Compiled in and read by the tests of this file.
            Err(error) => panic!("the compiled-in commissioning limits are broken: {error}"),
        }
    });
    &ALL
}

/// A limit by its key; every key used in this crate stands in the file, which a test checks.
pub(crate) fn limit(key: &str) -> &'static Limit {
    static MISSING: LazyLock<Limit> = LazyLock::new(|| Limit {
        key: String::new(),
        what: "missing".to_owned(),
        value: f64::NAN,
        unit: String::new(),
        source: "missing".to_owned(),
        provenance: "memory".to_owned(),
    });
    limits().iter().find(|limit| limit.key == key).unwrap_or(&MISSING)
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_limit_has_a_number_a_source_and_a_provenance() {
        for limit in super::limits() {
            assert!(limit.value.is_finite() && limit.source.len() > 10, "{limit:?}");
            assert!(["published", "computed", "memory"].contains(&limit.provenance.as_str()), "{limit:?}");
        }
        // T = (20/6)^1.43 s of UL 943.
        let seconds = super::limit("residual-trip-na-6").value;
        assert!((seconds - (20.0f64 / 6.0).ln().mul_add(1.43, 0.0).exp()).abs() < 0.01, "{seconds}");
    }
}
