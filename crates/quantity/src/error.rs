//! What can be wrong with a written quantity, said so that the reader can mend it.
//! Never: knows where in a file the text stood; the caller adds the place.
//! Start at [`QuantityError`].

use crate::written::Kind;
use core::fmt;

/// A text that is not the quantity wanted: what was found, what was wanted and how to mend it.
#[derive(Clone, PartialEq, Debug)]
pub struct QuantityError {
    found: String,
    kind: &'static Kind,
    // Boxed to keep results small.
    problem: Box<Problem>,
}

/// The private reasons behind [`QuantityError`].
#[derive(Clone, PartialEq, Debug)]
pub(crate) enum Problem {
    /// Nothing was written.
    Empty,
    /// The text does not begin with a number.
    NoNumber,
    /// A number without unit; `mend` is the same number with one.
    NoUnit { mend: String },
    /// The unit is none of ours.
    UnknownUnit { unit: String },
    /// The unit belongs to another quantity.
    OtherKind { what: &'static str },
    /// The unit is ours, written with other letters or with an addition; `mend` is the accepted form.
    Spelling { unit: String, mend: String },
    /// A comma inside the number.
    Comma { mend: String, found: String },
    /// Digits in groups: `1 000`.
    Grouped { mend: String },
    /// Beyond the range of numbers.
    TooLarge,
    /// Not zero, yet too small to be told from it.
    TooSmall,
    /// Anything particular to one quantity.
    Own { message: String, hint: String },
}

impl QuantityError {
    pub(crate) fn new(kind: &'static Kind, found: &str, problem: Problem) -> Self {
        Self { found: shortened(found), kind, problem: Box::new(problem) }
    }

    /// Whether the number itself is at fault, whatever the unit.
    pub(crate) fn is_of_number(&self) -> bool {
        matches!(&*self.problem, Problem::Comma { .. } | Problem::Grouped { .. })
    }

    /// The text that was found, cut to a readable length.
    pub fn found(&self) -> &str {
        &self.found
    }

    /// What was wanted: "a voltage".
    pub fn wanted(&self) -> &'static str {
        self.kind.what
    }

    /// The units that are accepted: "V, mV, kV".
    pub fn units(&self) -> String {
        let symbols: Vec<&str> =
            self.kind.units.iter().map(|unit| unit.symbol).filter(|symbol| !symbol.is_empty()).collect();
        symbols.join(", ")
    }

    /// What is wrong, without the mend.
    pub fn message(&self) -> String {
        let found = &self.found;
        match &*self.problem {
            Problem::Empty => "nothing is written".to_string(),
            Problem::NoNumber => format!("`{found}` does not begin with a number"),
            Problem::NoUnit { .. } => format!("`{found}` has no unit"),
            Problem::UnknownUnit { unit } => {
                format!("`{found}` ends in `{unit}`, which is not a unit known here")
            }
            Problem::OtherKind { what } => format!("`{found}` is {what}"),
            Problem::Spelling { unit, .. } => {
                format!("`{found}` ends in `{unit}`, which is not how the unit is written")
            }
            Problem::Comma { .. } => format!("`{found}` has a comma in its number"),
            Problem::Grouped { .. } => format!("`{found}` has a space inside its number"),
            Problem::TooLarge => format!("`{found}` is too large a number"),
            Problem::TooSmall => format!("`{found}` is too small a number to tell from zero"),
            Problem::Own { message, .. } => message.clone(),
        }
    }

    /// How to mend it.
    pub fn hint(&self) -> String {
        let (wanted, example) = (self.kind.what, self.kind.example);
        match &*self.problem {
            Problem::Empty
            | Problem::NoNumber
            | Problem::OtherKind { .. }
            | Problem::TooLarge
            | Problem::TooSmall => {
                format!("here {wanted} is wanted, such as `{example}`")
            }
            Problem::NoUnit { mend } | Problem::Spelling { mend, .. } | Problem::Grouped { mend } => {
                format!("write `{mend}`")
            }
            Problem::Comma { mend, found } => format!("write {mend}, not {found}"),
            Problem::UnknownUnit { .. } if self.units().is_empty() => {
                format!("write {wanted} as a number alone, such as `{example}`")
            }
            Problem::UnknownUnit { .. } => {
                format!("write {wanted} in one of the units {}, such as `{example}`", self.units())
            }
            Problem::Own { hint, .. } => hint.clone(),
        }
    }
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.message(), self.hint())
    }
}

impl core::error::Error for QuantityError {}

/// Keeps a message readable when a whole paragraph stands where a quantity was wanted.
fn shortened(text: &str) -> String {
    const LONGEST: usize = 40;
    let text = text.trim();
    if text.chars().count() <= LONGEST {
        text.to_string()
    } else {
        text.chars().take(LONGEST).chain(['…']).collect()
    }
}
