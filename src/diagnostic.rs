//! A message that points at a place in a file.
