//! From the sun to the terminals of a module: position, sky, plane, temperature, power.
//! Never: knows the bank or the loads.
//! Start here.
