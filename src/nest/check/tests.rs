//! Nests made by hand, refused one by one.
