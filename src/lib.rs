//! Planksheer: from the surveyed deck edge of a wooden workboat to cut
//! sheets for a welded aluminium bulwark. Data goes one way, a folder a
//! stage: survey, fair, layout, develop, part, nest, cut, drawing, page, write and
//! report, with tacked beside; `pipeline` calls them in order and `cli` is
//! the command.

pub mod cli;
pub mod cut;
pub mod develop;
pub mod drawing;
pub mod dxf;
pub mod fair;
pub mod fault;
pub mod geom;
pub mod job;
pub mod layout;
pub mod length;
pub mod limits;
pub mod nest;
pub mod page;
pub mod part;
pub mod pipeline;
pub mod quantity;
pub mod report;
pub mod stock;
pub mod survey;
pub mod tacked;
pub mod tolerance;
pub mod write;

#[cfg(test)]
mod sample;
