//! `standstill fill`
use super::*;
pub(super) fn fill(_: &arguments::Fill, _: &dyn Surroundings, _: &mut Terminal) -> Ending {
    Ending::File
}
