//! Page, browser and schemas.

mod page;
mod browser;
mod schemas;
