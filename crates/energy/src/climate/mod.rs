//! The climate of a place: monthly means of the world, and years of weather drawn from them.
//! Never: holds a measured year; see `weather`.
//! Start here.
