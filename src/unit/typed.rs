//! The bridge to `uom`: its types carry quantities in and out, this crate's dimensions check them.

use std::any::TypeId;
use std::marker::PhantomData;

use uom::si::marker::{AngleKind, KinematicViscosityKind, SurfaceTensionKind, TemperatureKind};
use uom::si::{Quantity, SI};
use uom::typenum::Integer;

use super::kinds::KINDS;
use super::{Base, Dimension};

/// What a `uom` quantity type is in this crate's terms.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct TypedAs {
    /// Dimension, angle included.
    pub dimension: Dimension,
    /// A temperature on the scale, not a difference.
    pub point: bool,
}

/// What a `uom` dimension is here, angle and temperature scale included.
///
/// `uom` keeps no power of angle, only a mark that distinguishes torque from energy; the power is that of
/// the kind with the same rest. `None` for amount of substance, luminous intensity, solid angle,
/// information and concentrations, which are not among the dimensions kept here.
///
/// # Example
/// ```
/// use standstill::unit::{kind, typed_as};
/// let torque = typed_as::<uom::si::torque::Dimension>().unwrap();
/// assert_eq!(torque.dimension, kind("torque").unwrap().dimension);
/// let energy = typed_as::<uom::si::energy::Dimension>().unwrap();
/// assert_eq!(energy.dimension, kind("energy").unwrap().dimension);
/// ```
#[must_use]
pub fn typed_as<D>() -> Option<TypedAs>
where
    D: uom::si::Dimension + ?Sized,
    D::Kind: 'static,
{
    if D::N::to_i32() != 0 || D::J::to_i32() != 0 {
        return None;
    }
    let rest = Dimension::of(
        D::L::to_i8(),
        D::M::to_i8(),
        D::T::to_i8(),
        D::I::to_i8(),
        D::Th::to_i8(),
        0,
    );
    let mark = TypeId::of::<D::Kind>();
    let plain = [
        TypeId::of::<dyn uom::Kind>(),
        TypeId::of::<dyn SurfaceTensionKind>(),
        TypeId::of::<dyn KinematicViscosityKind>(),
    ];
    let (dimension, point) = if mark == TypeId::of::<dyn AngleKind>() {
        (angled(rest), false)
    } else if mark == TypeId::of::<dyn TemperatureKind>() {
        (rest, true)
    } else if plain.contains(&mark) {
        // uom's moment of inertia carries no mark of angle
        let inertia = Dimension::of(2, 1, 0, 0, 0, -2);
        (if rest == inertia.without_angle() { inertia } else { rest }, false)
    } else {
        return None;
    };
    Some(TypedAs { dimension, point })
}

/// A `uom` quantity as a number in coherent SI, with what it is; `None` as for [`typed_as`].
///
/// # Example
/// ```
/// use uom::si::f64::Torque;
/// use uom::si::torque::kilonewton_meter;
/// let (value_si, typed) = standstill::unit::from_typed(Torque::new::<kilonewton_meter>(2.5)).unwrap();
/// assert_eq!(value_si, 2500.0);
/// assert_eq!(standstill::unit::name_of(typed.dimension), "a torque");
/// ```
#[must_use]
pub fn from_typed<D>(quantity: Quantity<D, SI<f64>, f64>) -> Option<(f64, TypedAs)>
where
    D: uom::si::Dimension + ?Sized,
    D::Kind: 'static,
{
    Some((quantity.value, typed_as::<D>()?))
}

/// A number in coherent SI as a `uom` quantity; `None` when the type does not fit what it is.
///
/// What fits is decided by [`fits`](super::fits): a radius may be taken out as a length, a torque not as
/// an energy, a temperature on the scale not as a difference.
///
/// # Example
/// ```
/// use standstill::unit::{from_typed, to_typed};
/// use uom::si::f64::{Energy, Torque};
/// use uom::si::torque::newton_meter;
/// let (value_si, typed) = from_typed(Torque::new::<newton_meter>(2.5)).unwrap();
/// assert_eq!(to_typed(value_si, typed), Some(Torque::new::<newton_meter>(2.5)));
/// assert_eq!(to_typed::<uom::si::energy::Dimension>(value_si, typed), None::<Energy>);
/// ```
#[must_use]
pub fn to_typed<D>(value_si: f64, typed: TypedAs) -> Option<Quantity<D, SI<f64>, f64>>
where
    D: uom::si::Dimension + ?Sized,
    D::Kind: 'static,
{
    let wanted = typed_as::<D>()?;
    (wanted.point == typed.point && super::fits(wanted.dimension, typed.dimension))
        .then_some(Quantity { dimension: PhantomData, units: PhantomData, value: value_si })
}

/// The kind with that rest and an angle in it; a plain angle where there is none.
fn angled(rest: Dimension) -> Dimension {
    KINDS
        .iter()
        .map(|kind| kind.dimension)
        .find(|known| known.without_angle() == rest && known.sixths(Base::Angle) != 0)
        .unwrap_or_else(|| rest.times(Dimension::ANGLE))
}
