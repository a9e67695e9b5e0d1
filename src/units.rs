//! "45 ±0.05 mm" to SI and back.
