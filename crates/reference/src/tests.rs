//! Tests of the tables as a whole.
use super::*;

#[test]
fn everything_loads() {
    if let Err(error) = Reference::load() {
        panic!("{error}");
    }
}
