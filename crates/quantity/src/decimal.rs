//! Decimal numbers as written: split from their unit, scaled by powers of ten without rounding, written back.
//! Never: knows units.
//! Start at [`Decimal`].

use crate::error::Problem;

/// A decimal number as text, so that a change of prefix moves the point and never rounds.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Decimal {
    /// Digits with at most one point, a leading `-` when negative.
    mantissa: String,
    exponent: i32,
}

impl Decimal {
    /// Splits a text into its leading number and the rest.
    pub(crate) fn split(text: &str) -> Result<(Self, &str), Problem> {
        let text = text.trim();
        if text.is_empty() {
            return Err(Problem::Empty);
        }
        let (sign, unsigned) = match text.strip_prefix(['-', '−', '–']) {
            Some(unsigned) => ("-", unsigned.trim_start()),
            None => ("", text.strip_prefix('+').map_or(text, str::trim_start)),
        };
        let end = unsigned.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(unsigned.len());
        let (digits, rest) = unsigned.split_at(end);
        if !digits.contains(|c: char| c.is_ascii_digit()) || digits.matches('.').count() > 1 {
            return Err(Problem::NoNumber);
        }
        if let Some(after) = rest.strip_prefix(',')
            && after.starts_with(|c: char| c.is_ascii_digit())
        {
            return Err(comma(digits, after));
        }
        if let Some((groups, unit)) = grouped(rest) {
            return Err(Problem::Grouped { mend: format!("{sign}{digits}{groups}{unit}") });
        }
        let (exponent, rest) = exponent(rest)?;
        Ok((Self { mantissa: format!("{sign}{digits}"), exponent }, rest))
    }

    /// The number rounded to `digits` significant digits, at least one; `None` when it is not finite.
    pub(crate) fn round(number: f64, digits: usize) -> Option<Self> {
        if !number.is_finite() {
            return None;
        }
        let text = format!("{number:.*e}", digits.saturating_sub(1));
        let (mantissa, exponent) = text.split_once('e')?;
        Some(Self { mantissa: mantissa.to_string(), exponent: exponent.parse().ok()? })
    }

    /// The number times ten to the power of `shift`, exactly.
    pub(crate) fn shifted(mut self, shift: i32) -> Self {
        self.exponent = self.exponent.saturating_add(shift);
        self
    }

    /// The nearest floating-point number.
    pub(crate) fn number(&self) -> Result<f64, Problem> {
        let number: f64 =
            format!("{}e{}", self.mantissa, self.exponent).parse().map_err(|_| Problem::NoNumber)?;
        if !number.is_finite() {
            Err(Problem::TooLarge)
        } else if number == 0.0 && self.mantissa.contains(|c: char| ('1'..='9').contains(&c)) {
            Err(Problem::TooSmall)
        } else {
            Ok(number)
        }
    }

    /// Writes the number without needless zeros; with an exponent when it would be long.
    pub(crate) fn text(&self) -> String {
        let (sign, unsigned) = match self.mantissa.strip_prefix('-') {
            Some(unsigned) => ("-", unsigned),
            None => ("", self.mantissa.as_str()),
        };
        let (whole, part) = unsigned.split_once('.').unwrap_or((unsigned, ""));
        let all = format!("{whole}{part}");
        let leading = all.len() - all.trim_start_matches('0').len();
        let digits = all.trim_start_matches('0').trim_end_matches('0');
        if digits.is_empty() {
            return "0".to_string();
        }
        // The value is 0.digits times ten to the power of `point`.
        let point = i64::from(self.exponent) + whole.len() as i64 - leading as i64;
        let count = digits.len() as i64;
        match point {
            -6..=0 => format!("{sign}0.{}{digits}", "0".repeat(point.unsigned_abs() as usize)),
            1..=15 if point >= count => format!("{sign}{digits}{}", "0".repeat((point - count) as usize)),
            1..=15 => {
                let (whole, part) = digits.split_at(point as usize);
                format!("{sign}{whole}.{part}")
            }
            _ => {
                let (first, rest) = digits.split_at(1);
                let separator = if rest.is_empty() { "" } else { "." };
                format!("{sign}{first}{separator}{rest}e{}", point - 1)
            }
        }
    }
}

/// Splits off groups of three digits after spaces, as in `1 000 W`.
/// Feet and inches (`9 1/2 in`) have fewer digits, or a stroke after them.
fn grouped(rest: &str) -> Option<(String, &str)> {
    let (mut groups, mut rest) = (String::new(), rest);
    while rest.starts_with(char::is_whitespace) {
        let group = rest.trim_start();
        let length = group.find(|c: char| !c.is_ascii_digit()).unwrap_or(group.len());
        let (digits, after) = group.split_at(length);
        if length != 3 || after.starts_with('/') {
            break;
        }
        groups.push_str(digits);
        rest = after;
    }
    if groups.is_empty() { None } else { Some((groups, rest)) }
}

/// Reads `e-7` at the start of `rest`; a lone `e` is left to the unit.
fn exponent(rest: &str) -> Result<(i32, &str), Problem> {
    let Some(after) = rest.strip_prefix(['e', 'E']) else { return Ok((0, rest)) };
    let (sign, digits) = match after.strip_prefix('-') {
        Some(digits) => ("-", digits),
        None => ("", after.strip_prefix('+').unwrap_or(after)),
    };
    let end = digits.find(|c: char| !c.is_ascii_digit()).unwrap_or(digits.len());
    if end == 0 {
        return Ok((0, rest));
    }
    let beyond = if sign.is_empty() { Problem::TooLarge } else { Problem::TooSmall };
    let exponent: i32 = format!("{sign}{}", &digits[..end]).parse().map_err(|_| beyond.clone())?;
    // Far outside the range of numbers already; keeps later sums of exponents small.
    if exponent.unsigned_abs() > 100_000 { Err(beyond) } else { Ok((exponent, &digits[end..])) }
}

/// A decimal comma, or a comma between thousands.
fn comma(digits: &str, after: &str) -> Problem {
    let end = after.find(|c: char| !c.is_ascii_digit() && c != ',' && c != '.').unwrap_or(after.len());
    let part = after[..end].trim_end_matches([',', '.']);
    let found = format!("{digits},{part}");
    let groups: Vec<&str> = part.split('.').next().unwrap_or("").split(',').collect();
    let is_thousands = !digits.contains('.')
        && (1..=3).contains(&digits.len())
        && !digits.starts_with('0')
        && groups.iter().all(|group| group.len() == 3);
    let mend = if is_thousands {
        found.replace(',', "")
    } else {
        format!("{digits}.{}", part.replace([',', '.'], ""))
    };
    Problem::Comma { mend, found }
}
