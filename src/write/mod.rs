//! Drawings and pages to files: formatting only. A writer takes a finished
//! [`crate::drawing::Drawing`] or [`crate::page::Packet`] and changes nothing
//! in it but its units.

pub mod dxf;
pub mod pdf;
pub mod svg;
