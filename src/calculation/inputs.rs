//! Values for the inputs of a sheet, read from text, from cells or from `uom` quantities.

use std::collections::{BTreeMap, BTreeSet};

use uom::si::{Quantity, SI};

use super::input_text::{plate, unsettled, written};
use super::spread::{Spread, of_the_sheet, read_with_spread, spread_of, tolerance_text};
use crate::diagnostic::{Diagnostic, Name, Place, Problems, phrase};
use crate::number::{Exact, InputValue};
use crate::program::{Input, Program, Type, nearest};
use crate::unit::{self, Kind, Literal, PrintedInertia, Unit};

/// Values for the inputs of a sheet, each with the place it came from.
///
/// # Example
/// ```
/// use standstill::Sheet;
/// use uom::si::f64::{MomentOfInertia, Torque};
/// use uom::si::moment_of_inertia::kilogram_square_meter;
/// use uom::si::torque::newton_meter;
/// let sheet = Sheet::library("run-down")?;
/// let mut inputs = sheet.inputs();
/// inputs.set("J", MomentOfInertia::new::<kilogram_square_meter>(2.0))?;
/// inputs.set("T_0", Torque::new::<newton_meter>(4.0))?;
/// inputs.write("n_0", "1500 r/min")?;
/// assert!(inputs.set("n_0", Torque::new::<newton_meter>(4.0)).is_err());
/// # Ok::<(), standstill::Problems>(())
/// ```
#[derive(Clone, Debug)]
pub struct Inputs {
    program: std::sync::Arc<Program>,
    values: BTreeMap<String, (InputValue, Option<Place>)>,
    /// How far values may lie from what is given.
    spreads: BTreeMap<String, Spread>,
    /// Inputs whose value could not be read; that is reported already.
    given_up: BTreeMap<String, Place>,
    /// Where a unit stands apart from its value.
    units: BTreeMap<String, Place>,
    /// Inputs whose value was given as the sheet's example: nobody has made it that of a machine.
    examples: BTreeSet<String>,
    /// Those that nobody gave and nothing depends on: the sheet's example holds their place.
    spared: BTreeSet<String>,
    /// Those for which a search tries values.
    sought: BTreeSet<String>,
    /// Whether they come from a form, whose boxes may have held the examples before anybody typed.
    form: bool,
    /// Where each value of a series stands.
    places: BTreeMap<String, Vec<Place>>,
    /// From what they come, if not typed.
    origin: Option<Origin>,
    /// Those that stand above a table once for all its rows.
    shared: BTreeSet<String>,
}

/// From what values come, if not typed.
#[derive(Clone, Debug)]
struct Origin {
    words: String,
    /// What is said of it and stops nothing.
    said: Vec<Diagnostic>,
    /// The inputs whose values it gave.
    gave: BTreeMap<String, Option<Place>>,
}

impl Inputs {
    /// No values yet.
    #[must_use]
    pub fn new(program: &std::sync::Arc<Program>) -> Self {
        let mut spreads = BTreeMap::new();
        for input in &program.inputs {
            let default = input.default.as_slice();
            let tolerance = std::slice::from_ref(&input.default_tolerance);
            // the numbers of a sheet are looked at when it is checked
            if let Ok(Some(spread)) = of_the_sheet(input, default, tolerance) {
                spreads.insert(input.name.clone(), spread);
            }
        }
        Self {
            program: std::sync::Arc::clone(program),
            values: BTreeMap::new(),
            spreads,
            given_up: BTreeMap::new(),
            units: BTreeMap::new(),
            examples: BTreeSet::new(),
            spared: BTreeSet::new(),
            sought: BTreeSet::new(),
            form: false,
            places: BTreeMap::new(),
            origin: None,
            shared: BTreeSet::new(),
        }
    }

    /// The program whose inputs they are.
    #[must_use]
    pub fn program(&self) -> &std::sync::Arc<Program> {
        &self.program
    }

    /// Sets an input from a `uom` quantity.
    ///
    /// # Errors
    /// `unknown-input` when the sheet takes no input of that name; `unit-mismatch` or
    /// `wrong-power-of-rad` when the quantity is of another kind; `unreadable-quantity` when the
    /// number is not finite.
    pub fn set<D>(
        &mut self,
        name: &str,
        quantity: Quantity<D, SI<f64>, f64>,
    ) -> Result<(), Problems>
    where
        D: uom::si::Dimension + ?Sized,
        D::Kind: 'static,
    {
        let (_, input) = self.known(name)?;
        let unit = coherent::<D>(&input)?;
        if matches!(input.type_, Type::Number { series: true, .. }) {
            return Err(wants_series(&input));
        }
        let literal = Literal::from_f64(quantity.value, unit).ok_or_else(|| not_finite(name))?;
        self.store(name, InputValue::One(literal), None);
        Ok(())
    }

    /// Sets an input that is a series from `uom` quantities.
    ///
    /// # Errors
    /// As [`Self::set`]; `series-for-number` where the input is not a series; `missing-input` where there
    /// is no value.
    ///
    /// # Example
    /// ```
    /// use standstill::Sheet;
    /// use uom::si::f64::Time;
    /// use uom::si::time::millisecond;
    /// let sheet = Sheet::parse("stops.sheet", "sheet stops
    /// title \"Measured stops\"
    /// takes
    ///   t : series of time in ms above 0 ms
    /// works
    ///   t_mean = mean(t)
    /// gives
    ///   t_mean in ms
    /// ")?;
    /// let mut inputs = sheet.inputs();
    /// inputs.set_series("t", &[312.0, 318.0].map(Time::new::<millisecond>))?;
    /// let mean: Time = sheet.run(&inputs)?.get("t_mean")?;
    /// assert!((mean.get::<millisecond>() - 315.0).abs() < 1e-9);
    /// # Ok::<(), standstill::Problems>(())
    /// ```
    pub fn set_series<D>(
        &mut self,
        name: &str,
        quantities: &[Quantity<D, SI<f64>, f64>],
    ) -> Result<(), Problems>
    where
        D: uom::si::Dimension + ?Sized,
        D::Kind: 'static,
    {
        let (_, input) = self.known(name)?;
        let unit = coherent::<D>(&input)?;
        if !matches!(input.type_, Type::Number { series: true, .. }) {
            let words = format!("`{name}` is one value, not a series");
            return Err(Diagnostic::error(Name::SeriesForNumber, words)
                .remedy("set it from one quantity")
                .into());
        }
        if quantities.is_empty() {
            return Err(missing(&input).into());
        }
        let literals = quantities.iter().map(|one| Literal::from_f64(one.value, unit.clone()));
        let literals = literals.collect::<Option<_>>().ok_or_else(|| not_finite(name))?;
        self.store(name, InputValue::Many(literals), None);
        Ok(())
    }

    /// An input by its name, with its place in the list.
    pub(super) fn known(&self, name: &str) -> Result<(usize, Input), Problems> {
        let input = self.input(name, None)?;
        let at = self.program.inputs.iter().position(|one| one.name == name).unwrap_or_default();
        Ok((at, input))
    }

    /// Sets an input from a text such as `1450 r/min`, `350 ms ± 10 ms`, `linear`, or `312 ms, 318 ms`.
    ///
    /// # Errors
    /// `unknown-input`, or what the text has wrong.
    pub fn write(&mut self, name: &str, text: &str) -> Result<(), Problems> {
        let place = Place::Argument { text: format!("{name}={text}") };
        self.write_from(name, text, place).map_err(Problems::from)
    }

    /// Sets an input from a text that came from a place.
    ///
    /// # Errors
    /// As [`Self::write`].
    pub fn write_from(&mut self, name: &str, text: &str, place: Place) -> Result<(), Diagnostic> {
        let input = self.input(name, Some(&place))?;
        let (value, spread) =
            read_with_spread(&input, text).map_err(|problem| problem.at(place.clone()))?;
        self.store_spread(name, value, spread, place);
        Ok(())
    }

    /// Sets an input from a text typed by a person, where `1.450` may be 1450 as well.
    ///
    /// # Errors
    /// As [`Self::write`], and `unreadable-quantity` where a point may part thousands.
    pub fn write_typed(&mut self, name: &str, text: &str, place: Place) -> Result<(), Diagnostic> {
        let input = self.input(name, Some(&place))?;
        match unsettled(&input, text) {
            Some(problem) => Err(problem.at(place)),
            None => self.write_from(name, text, place),
        }
    }

    /// Sets an input from a value that is read already; a tolerance it had is gone. Its range is looked at when the
    /// sheet runs, as that of every value.
    ///
    /// # Errors
    /// `unknown-input`, `unit-mismatch` for a value of another kind, `series-for-number` for one in the place of
    /// several or several in the place of one, `unknown-word` for a word that its list does not have.
    ///
    /// # Example
    /// ```
    /// use standstill::Sheet;
    /// use standstill::number::InputValue;
    /// use standstill::unit::{Literal, kind};
    /// let sheet = Sheet::library("ramp-stop").unwrap();
    /// let mut inputs = sheet.inputs();
    /// let metres = Literal::new(3.into(), 0, kind("length").unwrap().read_unit("m").unwrap());
    /// let problem = inputs.put("t_ramp", InputValue::One(metres), None).unwrap_err();
    /// assert_eq!(problem.headline, "`t_ramp` is a time, found a length");
    /// ```
    pub fn put(
        &mut self,
        name: &str,
        value: InputValue,
        place: Option<Place>,
    ) -> Result<(), Diagnostic> {
        let input = self.input(name, place.as_ref())?;
        takes(&input, &value).map_err(|problem| match &place {
            Some(place) => problem.at(place.clone()),
            None => problem.at(input.place.clone()),
        })?;
        self.store(name, value, place);
        Ok(())
    }

    /// What to write for an input without the tolerance that was given for it; none where it has none.
    pub(super) fn tolerance_given(&self, name: &str) -> Option<String> {
        self.spreads.get(name)?;
        Some(match self.values.get(name) {
            Some((InputValue::One(value), _)) => format!("`{name} = {}`", written(value)),
            _ => "its values alone".to_owned(),
        })
    }

    /// Keeps a value that is known to fit its input.
    pub(crate) fn store(&mut self, name: &str, value: InputValue, place: Option<Place>) {
        self.spreads.remove(name);
        self.examples.remove(name);
        self.spared.remove(name);
        self.places.remove(name);
        self.given_up.remove(name);
        self.values.insert(name.to_owned(), (value, place));
    }

    /// The same with how far it may lie from it.
    pub(crate) fn store_spread(
        &mut self,
        name: &str,
        value: InputValue,
        spread: Option<Spread>,
        place: Place,
    ) {
        self.store(name, value, Some(place));
        if let Some(spread) = spread {
            self.spreads.insert(name.to_owned(), spread);
        }
    }

    /// Gives an input that has a value a tolerance, such as `± 10 ms`.
    ///
    /// # Errors
    /// `unknown-input`, `missing-input` where there is no value yet, or what the text has wrong.
    pub fn tolerate(&mut self, name: &str, text: &str, place: &Place) -> Result<(), Diagnostic> {
        let input = self.input(name, Some(place))?;
        let value = self.value(&input).ok_or_else(|| missing(&input).at(place.clone()))?;
        let spread =
            spread_of(&input, &value, text).map_err(|problem| problem.at(place.clone()))?;
        self.spreads.insert(name.to_owned(), spread);
        Ok(())
    }

    /// As [`Self::tolerate`] from a text typed by a person, where `± 1.450` may be 1450 as well.
    ///
    /// # Errors
    /// As [`Self::tolerate`], and `unreadable-quantity` where a point may part thousands.
    pub(crate) fn tolerate_typed(
        &mut self,
        name: &str,
        text: &str,
        place: &Place,
    ) -> Result<(), Diagnostic> {
        let input = self.input(name, Some(place))?;
        match unsettled(&input, text) {
            Some(problem) => Err(problem.at(place.clone())),
            None => self.tolerate(name, text, place),
        }
    }

    /// Lets an input lie anywhere between two values.
    pub(super) fn spread_between(&mut self, name: &str, low: Literal, high: Literal) {
        self.spread_over(name, vec![(low, high)]);
    }

    /// Lets an input, or each element of a series, lie anywhere between two values.
    pub(crate) fn spread_over(&mut self, name: &str, ends: Vec<(Literal, Literal)>) {
        let spread = Spread { ends, shape: super::Shape::Even };
        self.spreads.insert(name.to_owned(), spread);
    }

    /// The same values, but those that are given there.
    #[must_use]
    pub fn taking(mut self, given: &Self) -> Self {
        for (name, (value, place)) in &given.values {
            self.store(name, value.clone(), place.clone());
            if let Some(spread) = given.spreads.get(name) {
                self.spreads.insert(name.clone(), spread.clone());
            }
        }
        self.examples.extend(given.examples.iter().cloned());
        self.form |= given.form;
        self
    }

    /// The same values without any tolerance.
    #[must_use]
    pub fn without_tolerances(&self) -> Self {
        Self { spreads: BTreeMap::new(), ..self.clone() }
    }

    /// How far the value of an input may lie from what is given.
    #[must_use]
    pub fn spread(&self, input: &Input) -> Option<&Spread> {
        self.spreads.get(&input.name)
    }

    /// Whether any input has a tolerance.
    #[must_use]
    pub fn any_spread(&self) -> bool {
        !self.spreads.is_empty()
    }

    /// Notes that the value of an input could not be read and that this is reported already.
    pub fn give_up(&mut self, name: &str, place: Place) {
        self.given_up.insert(name.to_owned(), place);
    }

    /// Notes that none of the inputs without a value can be read, and that this is reported already.
    pub(crate) fn give_up_all(&mut self) {
        for input in &std::sync::Arc::clone(&self.program).inputs {
            if !self.values.contains_key(&input.name) {
                self.give_up(&input.name, input.place.clone());
            }
        }
    }

    /// Whether the value of an input could not be read.
    #[must_use]
    pub fn is_given_up(&self, name: &str) -> bool {
        self.given_up.contains_key(name)
    }

    /// Whether the value of any input could not be read.
    #[must_use]
    pub fn any_given_up(&self) -> bool {
        !self.given_up.is_empty()
    }

    /// Takes the example values of the sheet, with their tolerances, for every input that has no value yet.
    pub fn fill_with_examples(&mut self) {
        for input in &std::sync::Arc::clone(&self.program).inputs {
            // what a project sets comes before an example of the sheet
            let is_set = input.default_from.is_some() || self.values.contains_key(&input.name);
            // a default keeps its own tolerance
            if !is_set && !input.example.is_empty() && !self.is_given_up(&input.name) {
                self.take_example(input);
                self.spreads.remove(&input.name);
                let spread = of_the_sheet(input, &input.example, &input.example_tolerances);
                if let Ok(Some(spread)) = spread {
                    self.spreads.insert(input.name.clone(), spread);
                }
            }
        }
    }

    /// Takes the example of an input.
    pub(super) fn take_example(&mut self, input: &Input) {
        let value = match (&input.type_, input.example.as_slice()) {
            (_, []) => return,
            (Type::Choice(_), [word, ..]) => {
                InputValue::Word(usize::try_from(word.digits).unwrap_or(0))
            }
            (Type::Number { series: true, .. }, all) => InputValue::Many(all.to_vec()),
            (_, [one, ..]) => InputValue::One(one.clone()),
        };
        self.values.insert(input.name.clone(), (value, Some(input.place.clone())));
    }

    /// Takes the example of an input that nobody need give, since nothing depends on it.
    pub(crate) fn spare(&mut self, input: &Input) {
        self.take_example(input);
        self.spared.insert(input.name.clone());
    }

    /// Whether there is any that nobody need give, and nobody did.
    pub(super) fn any_spared(&self) -> bool {
        !self.spared.is_empty()
    }

    /// Whether nobody need give it, and nobody did.
    pub(crate) fn is_spared(&self, input: &Input) -> bool {
        self.spared.contains(&input.name)
    }

    /// Notes that a search tries values for an input.
    pub(super) fn seek(&mut self, name: &str) {
        self.sought.insert(name.to_owned());
    }

    /// Whether a search tries values for it.
    pub(super) fn is_sought(&self, input: &Input) -> bool {
        self.sought.contains(&input.name)
    }

    /// The value of an input, its default where none is set.
    #[must_use]
    pub fn value(&self, input: &Input) -> Option<InputValue> {
        if let Some((value, _)) = self.values.get(&input.name) {
            return Some(value.clone());
        }
        if self.is_given_up(&input.name) {
            return None;
        }
        let default = input.default.as_ref()?;
        Some(match &input.type_ {
            Type::Choice(_) => InputValue::Word(usize::try_from(default.digits).unwrap_or(0)),
            Type::Number { series: true, .. } => InputValue::Many(vec![default.clone()]),
            _ => InputValue::One(default.clone()),
        })
    }

    /// Where the value of an input came from; for a default the line of the sheet or of the settings.
    #[must_use]
    pub fn place(&self, input: &Input) -> Place {
        self.values
            .get(&input.name)
            .and_then(|(_, place)| place.clone())
            .or_else(|| input.default_from.clone())
            .unwrap_or_else(|| input.place.clone())
    }

    /// Says where each value of a series stands.
    pub(crate) fn values_at(&mut self, name: &str, places: Vec<Place>) {
        self.places.insert(name.to_owned(), places);
    }

    /// Where one value of an input came from, counted from 0.
    pub(super) fn place_of(&self, input: &Input, at: usize) -> Place {
        let own = self.places.get(&input.name).and_then(|places| places.get(at));
        own.cloned().unwrap_or_else(|| self.place(input))
    }

    /// Says where the unit of an input stands, apart from its value.
    pub(crate) fn unit_at(&mut self, name: &str, place: Place) {
        self.units.insert(name.to_owned(), place);
    }

    /// Units that were written as rating plates write them, each with what it was read as: one caution a notation.
    #[must_use]
    pub fn plates(&self) -> Vec<Diagnostic> {
        let mut found: Vec<(&str, &str, Vec<&Input>)> = Vec::new();
        for input in &self.program.inputs {
            let values = match self.values.get(&input.name) {
                Some((InputValue::One(value), _)) => std::slice::from_ref(value),
                Some((InputValue::Many(values), _)) => values.as_slice(),
                _ => &[],
            };
            for unit in values.iter().map(|value| &value.unit) {
                let Some(typed) = unit.typed.as_deref() else { continue };
                match found.iter_mut().find(|one| (one.0, one.1) == (typed, &unit.symbol)) {
                    Some((.., inputs)) if inputs.iter().any(|it| it.name == input.name) => {}
                    Some((.., inputs)) => inputs.push(input),
                    None => found.push((typed, &unit.symbol, vec![input])),
                }
            }
        }
        found
            .iter()
            .filter_map(|(typed, unit, inputs)| {
                let names: Vec<String> = inputs.iter().map(|it| format!("`{}`", it.name)).collect();
                let first = inputs.first()?;
                let place = self.units.get(&first.name).cloned();
                let place = place.unwrap_or_else(|| self.place(first));
                Some(plate(typed, unit, &names.join(", ")).at(place))
            })
            .collect()
    }

    /// Notes that a value that was given is the sheet's example.
    pub(crate) fn mark_example(&mut self, name: &str) {
        if self.values.contains_key(name) {
            self.examples.insert(name.to_owned());
        }
    }

    /// Whether an input was given a value.
    #[must_use]
    pub fn is_given(&self, input: &Input) -> bool {
        self.values.contains_key(&input.name)
    }

    /// Whether its value is the sheet's example, not one that somebody gave.
    #[must_use]
    pub fn is_example(&self, input: &Input) -> bool {
        let place = self.values.get(&input.name).and_then(|(_, place)| place.as_ref());
        place == Some(&input.place) || self.examples.contains(&input.name)
    }

    /// Says that the values that are here now stand above a table once for all its rows.
    pub(crate) fn in_a_head(&mut self) {
        self.shared = self.values.keys().cloned().collect();
    }

    /// Whether a value stands above a table once for all its rows.
    pub(crate) fn is_shared(&self, input: &Input) -> bool {
        self.shared.contains(&input.name)
    }

    /// Says from what the values come that are here now, in words, and what is said of it that stops nothing.
    pub(crate) fn came_from(&mut self, words: String, said: Vec<Diagnostic>) {
        let gave = self.values.iter().map(|(name, (_, place))| (name.clone(), place.clone()));
        self.origin = Some(Origin { words, said, gave: gave.collect() });
    }

    /// From what the values come, and which of them were typed in the place of those there; none where all were typed.
    pub(crate) fn origin_text(&self) -> Option<String> {
        let origin = self.origin.as_ref()?;
        let moved = |name: &str, before: &Option<Place>| {
            self.values.get(name).is_some_and(|(_, now)| now != before)
        };
        let typed = self.program.inputs.iter().map(|input| input.name.as_str());
        let typed = typed.filter(|name| origin.gave.get(*name).is_some_and(|it| moved(name, it)));
        let typed: Vec<&str> = typed.collect();
        let mut words = format!("inputs from {}", origin.words);
        if !typed.is_empty() {
            words += &format!("; typed in the place of those there: {}", typed.join(", "));
        }
        Some(words)
    }

    /// What is said of that from which the values come, and stops nothing.
    pub(crate) fn said_of_origin(&self) -> &[Diagnostic] {
        self.origin.as_ref().map_or(&[], |origin| origin.said.as_slice())
    }

    /// Says that values stand in the boxes of a form.
    pub(crate) fn in_a_form(&mut self) {
        self.form = true;
    }

    /// Whether values stand in the boxes of a form.
    pub(crate) fn is_form(&self) -> bool {
        self.form
    }

    /// Whether a cell of a workbook or a table holds the sheet's example: it may have been left standing there.
    pub(crate) fn left_as_example(&self, input: &Input) -> bool {
        let value = self.values.get(&input.name);
        matches!(value, Some((_, Some(Place::Cell { .. })))) && self.equals_example(input)
    }

    /// Whether somebody gave the value that is the sheet's example.
    #[must_use]
    pub fn equals_example(&self, input: &Input) -> bool {
        let same = |a: &Literal, b: &Literal| {
            let [a, b] = [a, b].map(|it| Exact::from_literal(it).ok());
            a.zip(b).is_some_and(|(a, b)| a.stands_to(&b).is_eq())
        };
        let value = self.values.get(&input.name).map(|(value, _)| value);
        !self.is_example(input)
            && match (value, input.example.as_slice()) {
                (Some(InputValue::One(value)), [example]) => same(value, example),
                _ => false,
            }
    }

    /// Every input that has neither a value nor a default, and every count that is not whole.
    #[must_use]
    pub fn problems(&self) -> Vec<Diagnostic> {
        let mut problems = Vec::new();
        for input in &self.program.inputs {
            match self.value(input) {
                None if self.is_given_up(&input.name) => {}
                None => problems.push(missing(input)),
                Some(InputValue::One(literal))
                    if input.kind.is_some_and(|kind| kind.name == "count") =>
                {
                    let whole = literal.ten >= 0 && literal.digits.fract().is_zero()
                        || literal.si_f64().fract() == 0.0;
                    if !whole {
                        problems.push(
                            Diagnostic::error(
                                Name::NotWhole,
                                format!(
                                    "`{}` counts, and {} is not a whole number",
                                    input.name,
                                    written(&literal)
                                ),
                            )
                            .at(self.place(input))
                            .remedy("write a whole number"),
                        );
                    }
                }
                Some(_) => {}
            }
        }
        problems
    }

    fn input(&self, name: &str, place: Option<&Place>) -> Result<Input, Diagnostic> {
        if let Some(input) = self.program.input_named(name) {
            return Ok(input.clone());
        }
        let names = self.program.inputs.iter().map(|input| input.name.as_str());
        let near = nearest(name, names.clone());
        let takes_inertia = |it: &&Input| it.kind.is_some_and(|kind| kind.name == "inertia");
        let inertia = self.program.inputs.iter().find(takes_inertia);
        let remedy = match (near.first(), inertia, unit::printed_inertia(name)) {
            (_, Some(input), Some(PrintedInertia::Radius)) => {
                format!(
                    "it is the inertia itself: give it as `{}`, in its own unit; `inertia-data` reads it too",
                    input.name
                )
            }
            (_, Some(input), Some(PrintedInertia::Diameter)) => {
                format!("give the inertia as `{}`: {}", input.name, unit::OF_DIAMETER)
            }
            (Some((near, _)), ..) => format!("`{near}` is close"),
            (None, ..) => format!("it takes {}", phrase::quoted(names).join(", ")),
        };
        let sheet =
            self.program.scopes.first().map(|scope| scope.sheet.clone()).unwrap_or_default();
        let problem =
            Diagnostic::error(Name::UnknownInput, format!("`{sheet}` takes no input `{name}`"))
                .remedy(remedy);
        Err(match place {
            Some(place) => problem.at(place.clone()),
            None => problem,
        })
    }
}

/// Whether a value is of the kind of an input: a word of its list, one number or several, of its dimension.
fn takes(input: &Input, value: &InputValue) -> Result<(), Diagnostic> {
    let values = match (&input.type_, value) {
        (Type::Choice(words), InputValue::Word(at)) if *at < words.len() => return Ok(()),
        (Type::Choice(words), InputValue::Word(_)) => {
            let headline = format!("`{}` has no word of that place in its list", input.name);
            return Err(Diagnostic::error(Name::UnknownWord, headline)
                .remedy(format!("its words are {}", phrase::quoted(words.iter()).join(", "))));
        }
        (Type::Number { series: false, .. }, InputValue::One(value)) => std::slice::from_ref(value),
        (Type::Number { series: true, .. }, InputValue::Many(values)) if !values.is_empty() => {
            values
        }
        (Type::Number { series, .. }, InputValue::One(_) | InputValue::Many(_)) => {
            let (is, give) = if *series {
                ("a series, not one value", "at least one value in a list")
            } else {
                ("one value, not a series", "one value")
            };
            return Err(Diagnostic::error(
                Name::SeriesForNumber,
                format!("`{}` is {is}", input.name),
            )
            .remedy(format!("hand over {give}")));
        }
        _ => return Err(other_kind(input, "a value that is a number, or a word in its place")),
    };
    let Type::Number { dimension, point, .. } = input.type_ else { return Ok(()) };
    let strange = |value: &&Literal| {
        !unit::fits(dimension, value.unit.dimension) || value.unit.point != point
    };
    match values.iter().find(strange) {
        Some(value) if unit::fits(dimension, value.unit.dimension) && point => {
            Err(other_kind(input, "a temperature difference"))
        }
        Some(value) => Err(other_kind(input, &unit::name_of(value.unit.dimension))),
        None => Ok(()),
    }
}

/// A value of a kind that the input does not have.
fn other_kind(input: &Input, found: &str) -> Diagnostic {
    let kind = input.kind.map_or_else(|| "a word".to_owned(), Kind::with_article);
    Diagnostic::error(Name::UnitMismatch, format!("`{}` is {kind}, found {found}", input.name))
        .remedy(format!("hand over {kind}"))
}

/// An input that has no value.
fn missing(input: &Input) -> Diagnostic {
    let what = input.kind.map_or("a choice".to_owned(), Kind::with_article);
    let note = if input.note.is_empty() { String::new() } else { format!(": {}", input.note) };
    Diagnostic::error(Name::MissingInput, format!("`{}` ({what}) has no value{note}", input.name))
        .at(input.place.clone())
        .about(&input.name)
        .remedy(format!("give it as `{}`", sample(input)))
}

/// How an input is typed at the terminal: `n_0='1450 r/min'`.
#[must_use]
pub fn sample(input: &Input) -> String {
    let value = match (&input.type_, input.example.first()) {
        (Type::Choice(words), example) => {
            let at = example.and_then(|word| usize::try_from(word.digits).ok()).unwrap_or(0);
            words.get(at).cloned().unwrap_or_default()
        }
        (Type::Number { series: true, .. }, Some(_)) => {
            let examples = input.example.iter().enumerate().map(|(at, example)| {
                let tolerance = input.example_tolerances.get(at).and_then(Option::as_ref);
                written(example) + &tolerance_text(tolerance)
            });
            examples.collect::<Vec<_>>().join(", ")
        }
        (_, Some(example)) => {
            let tolerance = input.example_tolerances.first().and_then(Option::as_ref);
            written(example) + &tolerance_text(tolerance)
        }
        (_, None) => {
            let units = input.unit.symbol.clone();
            if units.is_empty() { "1".to_owned() } else { format!("… {units}") }
        }
    };
    if value.contains(' ') {
        format!("{}='{value}'", input.name)
    } else {
        format!("{}={value}", input.name)
    }
}

/// The coherent unit of an input, if quantities of a `uom` type may be its values.
pub(super) fn coherent<D>(input: &Input) -> Result<Unit, Problems>
where
    D: uom::si::Dimension + ?Sized,
    D::Kind: 'static,
{
    let wrong =
        |found: String| -> Problems { other_kind(input, &found).at(input.place.clone()).into() };
    let typed = unit::typed_as::<D>()
        .ok_or_else(|| wrong("a quantity outside the dimensions kept here".to_owned()))?;
    let Type::Number { dimension, point, .. } = input.type_ else {
        return Err(wrong(unit::name_of(typed.dimension)));
    };
    if !unit::fits(dimension, typed.dimension) || point != typed.point {
        return Err(wrong(unit::name_of(typed.dimension)));
    }
    let symbol = if dimension.is_none() { String::new() } else { dimension.to_string() };
    Ok(Unit { symbol, dimension, point, ..Unit::one() })
}

pub(super) fn not_finite(name: &str) -> Diagnostic {
    Diagnostic::error(Name::UnreadableQuantity, format!("`{name}` is not a finite number"))
        .remedy("give a finite number")
}

fn wants_series(input: &Input) -> Problems {
    let words = format!("`{}` is a series, not one value", input.name);
    Diagnostic::error(Name::SeriesForNumber, words)
        .remedy("set it from a list of quantities")
        .into()
}
