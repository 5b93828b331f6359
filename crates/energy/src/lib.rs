//! Will it last? The hours of a year, many years, a trip, and the best sizes: sun, weather, loads, storage, charging.
//! Never: reads files, judges (see `rules`), draws (see `drawing`). Same input and same seed, same bytes.
//! Start at [`study`] for a whole system; at [`site`] for the time base that everything here keeps.

pub mod climate;
mod day;
mod hour;
mod lane;
pub mod needs;
pub mod outcome;
mod peaks;
pub mod plant;
pub mod run;
pub mod site;
pub mod sizes;
pub mod sky;
pub mod storage;
mod study;
pub mod sun;
pub mod trip;
pub mod weather;
mod year;
mod years;

pub use outcome::{Books, Chance, Year, Years};
pub use peaks::{Peak, Peaks};
pub use plant::Plant;
pub use sky::{Scratch, Sky};
pub use study::{PEAK_DAYS, SEED, Study, YEARS, study, study_under};
pub use year::{typical_year, year};
pub use years::{Progress, years};
