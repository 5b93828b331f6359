//! placeholder until the parts helper commits
