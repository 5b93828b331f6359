//! Weather files: each format, each fault, and the same numbers as the reference reader.
//! Never: measured data in the repository.
//! Start at `formats.rs`.

mod bad;
mod files;
mod formats;
mod outside;

use energy::weather::{Series, read};

/// Reads what must be readable.
#[track_caller]
fn good(bytes: &[u8]) -> Series {
    read("made.file", bytes).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

/// Whether a note of that name was given.
fn has(series: &Series, id: &str) -> bool {
    series.notes.iter().any(|note| note.id == id)
}

/// Every list is whole, finite and within what is believed.
#[track_caller]
fn is_sound(series: &Series) {
    for year in std::iter::once(&series.year).chain(&series.more) {
        for list in [&year.ghi_w_m2, &year.dni_w_m2, &year.dhi_w_m2] {
            assert_eq!(list.len(), 8760);
            assert!(list.iter().all(|value| (0.0..=1500.0).contains(value)));
        }
        assert!(year.air_c.len() == 8760 && year.air_c.iter().all(|value| (-90.0..=60.0).contains(value)));
        assert!(
            year.wind_m_s.len() == 8760 && year.wind_m_s.iter().all(|value| (0.0..=114.0).contains(value))
        );
    }
    assert!((0.0..60.0).contains(&series.minutes_into_hour));
}
