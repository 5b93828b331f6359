//! The same numbers as the reference reader.
//! Never: skipped in silence.
//! Start at any test.
