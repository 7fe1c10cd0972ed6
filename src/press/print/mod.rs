//! Sheets on paper: PDFs for the pocket, the assessor and the store.

pub mod world;
