//! Which reading to take next: the one on which the likely faults differ most.
//! Never: asks for a reading that was taken.
//! Start at [`next`].

use crate::expected::Expected;
use crate::fault::Solved;
use crate::readings::Readings;

/// Faults compared at most.
const COMPARED: usize = 8;
/// Spread over the meter's own from which a reading is worth taking.
const WORTH: f64 = 3.0;

/// The reading not yet taken on which these faults differ most, with what each would make it read.
pub(crate) fn next(
    expected: &[Expected],
    readings: &Readings,
    faults: &[Solved<'_>],
) -> Option<(usize, Vec<f64>)> {
    let faults = faults.get(..COMPARED).unwrap_or(faults);
    if faults.len() < 2 {
        return None;
    }
    let mut best: Option<(f64, usize, Vec<f64>)> = None;
    for (index, one) in expected.iter().enumerate() {
        let (Some(moment), Some(probe)) = (one.moment, one.probe) else { continue };
        if readings.taken.contains_key(&one.id) {
            continue;
        }
        let read: Option<Vec<f64>> = faults.iter().map(|fault| fault.read(moment, probe)).collect();
        let Some(read) = read else { continue };
        let most = read.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let least = read.iter().copied().fold(f64::INFINITY, f64::min);
        let spread = ((most - least) / one.sigma.max(1e-6)).min(1e6);
        if spread > WORTH && best.as_ref().is_none_or(|(known, ..)| spread > *known) {
            best = Some((spread, index, read));
        }
    }
    best.map(|(_, index, read)| (index, read))
}
