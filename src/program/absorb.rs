//! Where an angle is let go: the exception, only where a written rule of mechanics needs it.
//!
//! A radius is a length along its arc per angle, and a length too: a diameter times π is a circumference,
//! π·r² an area, m·r·ω² a force, J of a rod m·L²/12. So each power of a radius, a diameter or a travel
//! per turn among the factors may take up one rad, and each power of a plain length where an inertia is
//! made. Another one is let go where what turns is squared beside it, as in m·r·ω². Nothing else takes up a
//! rad: J·(n/f)² with f in Hz is no inertia, torque over a length no force, φ·φ·r no length.

use super::compile::Compiler;
use super::scope::{Sheet, Value};
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Definition, Expression};
use crate::unit::{self, Base, Dimension};

const INERTIA: Dimension = Dimension::of(2, 1, 0, 0, 0, -2);

/// Whether a value may stand for another of the same dimension but for the angle.
pub(super) fn absorbs(value: &Value, from: Dimension, to: Dimension) -> bool {
    value.factors.arms.take_up(from, to, to == INERTIA)
}

impl Compiler<'_> {
    /// A line whose formula leaves a power of rad that nothing in it takes up: of no kind, and near one.
    pub(super) fn angle_left(
        &mut self,
        sheet: &Sheet,
        line: &Definition,
        tree: &Expression,
        value: &Value,
        dimension: Dimension,
    ) -> Option<()> {
        if value.zero || !unit::kinds_of(dimension).is_empty() {
            return Some(());
        }
        let kinds = unit::KINDS.iter().map(|kind| kind.dimension);
        let near: Vec<Dimension> = kinds.filter(|known| unit::fits(*known, dimension)).collect();
        if near.is_empty() || near.iter().any(|known| absorbs(value, dimension, *known)) {
            return Some(());
        }
        let nearest = unit::name_of(*near.first()?);
        let problem = Diagnostic::error(
            Name::WrongPowerOfRad,
            format!(
                "`{}` is {nearest} but for the angle: its formula gives {dimension}",
                line.name.value
            ),
        )
        .at(sheet.place(&tree.span))
        .remedy(missing(dimension, *near.first()?));
        self.problems.push(problem);
        None
    }
}

/// What quantity is meant, and what is missing.
pub(super) fn missing(found: Dimension, meant: Dimension) -> String {
    let apart = i32::from(meant.sixths(Base::Angle)) - i32::from(found.sixths(Base::Angle));
    let what = if apart > 0 { "an angle is missing" } else { "an angle is too many" };
    format!(
        "{what} for {}: a speed of rotation is declared as `speed of rotation`, not as a rate or frequency; a lead as `travel per turn`; an arm as `radius` or `diameter`; a torque is not an energy",
        unit::name_of(meant)
    )
}
