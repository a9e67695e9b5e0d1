//! Arithmetic, units and the tables of standards.

mod interval;
mod standards;
mod units;
