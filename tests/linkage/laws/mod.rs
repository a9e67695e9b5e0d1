//! What holds for every four-bar, tried where it is most likely to fail.

mod branches;
mod degenerate;
mod extremes;
mod linkages;
mod poses;
