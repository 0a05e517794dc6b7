//! Drawings to files' text: formatting only. A writer takes a finished
//! [`crate::drawing::Drawing`] and changes nothing in it but its units.

pub mod dxf;
pub mod svg;
