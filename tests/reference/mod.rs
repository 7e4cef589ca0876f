//! Values worked out by other programs; the script beside each file of values says which.

mod functions;
mod preferred;
