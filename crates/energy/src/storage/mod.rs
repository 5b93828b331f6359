//! What the bank holds, gives and takes: voltage, resistance, limits, ageing.
//! Never: decides when to charge; see `dispatch`.
//! Start here.
