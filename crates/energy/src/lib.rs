//! Will it last? The hours of a year, many years, a trip, and the best sizes: sun, weather, loads, storage, charging.
//! Never: reads files, judges (see `rules`), draws (see `drawing`). Same input and same seed, same bytes.
//! Start at [`site`] for the time base that everything here keeps.

pub mod climate;
pub mod needs;
pub mod outcome;
pub mod plant;
pub mod run;
pub mod site;
pub mod storage;
pub mod sun;
pub mod weather;
