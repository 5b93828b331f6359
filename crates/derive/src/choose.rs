//! Choosing a part: the cheapest that meets every need, with what the cheaper ones lack.
//! Never: takes the next best. No part is a gap, and the gap says what would do.
//! Start at [`Builder::choose`].

use std::collections::BTreeMap;

use model::parts::PartFacts;
use model::{Inputs, Library, Name};
use quantity::{Gauge, Money, Volts};
use reference::Insulation;

use crate::builder::Builder;

/// Middle of a part's price band.
pub fn price(part: &dyn PartFacts) -> Money {
    let (low, high) = part.price();
    (low + high) / 2.0
}

/// A part that was chosen.
pub struct Pick<'l, T> {
    pub id: &'l Name,
    pub part: &'l T,
    /// How many met every need.
    pub fitting: usize,
}

impl<T> Pick<'_, T> {
    /// How it was chosen, in words.
    pub fn step(&self) -> String {
        match self.fitting {
            1 => "the only part of the library that meets the need".to_owned(),
            n => format!("the cheapest of {n} parts that meet the need"),
        }
    }
}

/// The cheapest part that `fits`; of equal price the first by name.
pub fn cheapest<'l, T: PartFacts>(
    parts: &'l BTreeMap<Name, T>,
    fits: impl Fn(&T) -> bool,
) -> Option<Pick<'l, T>> {
    let fitting: Vec<(&Name, &T)> = parts.iter().filter(|(_, part)| fits(part)).collect();
    let (id, part) = fitting
        .iter()
        .min_by(|a, b| price(a.1).total_cmp(&price(b.1)).then_with(|| a.0.cmp(b.0)))
        .copied()?;
    Some(Pick { id, part, fitting: fitting.len() })
}

/// What is asked of a part.
pub struct PartAsk<'a> {
    /// Path of the choice, such as `main.shunt.part`.
    pub path: &'a str,
    /// Kind, as in the parts library.
    pub kind: &'static str,
    /// What would meet the need, in words.
    pub need: String,
    /// The part that the person names.
    pub named: Option<&'a Name>,
    /// Path in intent.toml, for the gap.
    pub intent: &'a str,
    /// What the need comes from.
    pub inputs: Inputs,
}

impl Builder<'_> {
    /// Chooses a part: the pinned one, else the one named, else the cheapest that `fits`; enters its reason, or the gap.
    pub fn choose<T: PartFacts + Clone>(
        &mut self,
        parts: &BTreeMap<Name, T>,
        ask: PartAsk<'_>,
        fits: impl Fn(&T) -> bool,
    ) -> Option<(Name, T)> {
        let pin = self.pin_part(ask.path, parts, ask.kind).map(|(id, _)| id.clone());
        let pick = cheapest(parts, fits);
        let derived = pick.as_ref().map(|pick| pick.id.to_string());
        let step = match (&pin, ask.named, &pick) {
            (None, Some(_), _) => "as said".to_owned(),
            (_, _, Some(pick)) => format!("{}: {}", pick.step(), ask.need),
            (_, _, None) => format!("no part of the library meets the need: {}", ask.need),
        };
        let is_pinned = pin.is_some();
        let chosen = pin
            .or_else(|| ask.named.filter(|id| parts.contains_key(*id)).cloned())
            .or_else(|| pick.map(|pick| pick.id.clone()));
        let Some((id, part)) = chosen.and_then(|id| parts.get(&id).map(|part| (id.clone(), part.clone())))
        else {
            self.gap(ask.path, ask.need, ask.intent);
            return None;
        };
        self.because_pinned(ask.path, id.to_string(), derived, is_pinned, step, ask.inputs);
        Some((id, part))
    }
}

/// The cable of a size: least insulation rating that is enough, then cheapest.
pub fn cable(
    library: &Library,
    gauge: Gauge,
    cores: u32,
    insulation: Insulation,
    tinned: bool,
    voltage: Volts,
) -> Option<String> {
    library
        .cable
        .iter()
        .filter(|(_, cable)| {
            cable.gauge == gauge
                && cable.cores == cores
                && cable.insulation >= insulation
                && cable.voltage >= voltage
                && (cable.tinned || !tinned)
        })
        .min_by(|a, b| {
            a.1.insulation
                .cmp(&b.1.insulation)
                .then_with(|| price(a.1).total_cmp(&price(b.1)))
                .then_with(|| a.0.cmp(b.0))
        })
        .map(|(id, _)| format!("cable.{id}"))
}
