//! Choosing a part: the cheapest that meets every need, with what the cheaper ones lack.
//! Never: takes the next best. No part is a gap, and the gap says what would do.
//! Start at [`cheapest`].

use std::collections::BTreeMap;

use model::parts::PartFacts;
use model::{Library, Name};
use quantity::{Gauge, Money, Volts};
use reference::Insulation;

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
pub fn cheapest<'l, T: PartFacts>(parts: &'l BTreeMap<Name, T>, fits: impl Fn(&T) -> bool) -> Option<Pick<'l, T>> {
    let fitting: Vec<(&Name, &T)> = parts.iter().filter(|(_, part)| fits(part)).collect();
    let (id, part) =
        fitting.iter().min_by(|a, b| price(a.1).total_cmp(&price(b.1)).then_with(|| a.0.cmp(b.0))).copied()?;
    Some(Pick { id, part, fitting: fitting.len() })
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
