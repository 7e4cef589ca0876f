//! A fifth number system, in one file and without a second evaluator: which inputs a value can depend on at all.
//!
//! Its value is a set of inputs; a result that is calculated from two values depends on what either depends on. It is
//! held against the slopes: what moves a result must be in its set; and against runs: what is not in it, does not.

use std::collections::BTreeSet;

use standstill::Sheet;
use standstill::calculation::Sensitivities;
use standstill::library::SHEETS;
use standstill::number::{Exact, Fault, InputValue, Integrand, Slot, System, evaluate};
use standstill::program::{
    Binary, Direction, LineId, Preferred, Ratio, Relation, Table, Type, Unary,
};
use standstill::unit::Literal;

struct Hangs;

type Set = BTreeSet<usize>;

fn of(x: &Set, y: &Set) -> Set {
    x.union(y).copied().collect()
}

impl System for Hangs {
    type Value = Set;
    type Truth = Set;

    fn literal(&self, _: &Literal, _: LineId) -> Set {
        Set::new()
    }
    fn pi(&self) -> Set {
        Set::new()
    }
    fn whole(&self, _: i64) -> Set {
        Set::new()
    }
    fn fault(&self, _: Fault) -> Set {
        Set::new()
    }
    fn unary(&self, _: Unary, x: &Set, _: LineId) -> Set {
        x.clone()
    }
    fn binary(&self, _: Binary, x: &Set, y: &Set, _: LineId) -> Set {
        of(x, y)
    }
    fn power(&self, x: &Set, _: Ratio, _: LineId) -> Set {
        x.clone()
    }
    fn compare(&self, _: Relation, x: &Set, y: &Set) -> Set {
        of(x, y)
    }
    fn both(&self, x: &Set, y: &Set) -> Set {
        of(x, y)
    }
    fn either(&self, x: &Set, y: &Set) -> Set {
        of(x, y)
    }
    fn not(&self, x: &Set) -> Set {
        x.clone()
    }
    fn truth_of_fault(&self, x: &Set) -> Set {
        x.clone()
    }
    fn select(&self, which: &Set, x: &Set, y: &Set) -> Set {
        of(which, &of(x, y))
    }
    fn round(&self, _: Direction, x: &Set, step: &Set, _: LineId) -> Set {
        of(x, step)
    }
    fn preferred(&self, _: Direction, _: Preferred, x: &Set, _: LineId) -> Set {
        x.clone()
    }
    fn read(&self, _: &Table, x: &Set, _: LineId) -> Set {
        x.clone()
    }
    fn root(&self, function: &mut dyn Integrand<Set>, from: &Set, to: &Set, _: LineId) -> Set {
        of(&function.at(&of(from, to)), &of(from, to))
    }
    fn integral(&self, function: &mut dyn Integrand<Set>, from: &Set, to: &Set, _: LineId) -> Set {
        of(&function.at(&of(from, to)), &of(from, to))
    }
}

#[test]
fn what_moves_a_result_is_found_by_a_number_system_of_one_file() {
    let (mut moved, mut still) = (0, 0);
    for shelved in SHEETS {
        let sheet = Sheet::library(shelved.name).unwrap();
        let program = sheet.program();
        let mut inputs = sheet.inputs();
        inputs.fill_with_examples();
        let given: Vec<Slot<Set, Set>> = program
            .inputs
            .iter()
            .enumerate()
            .map(|(at, input)| match inputs.value(input) {
                Some(InputValue::Many(all)) => Slot::Many(vec![Set::from([at]); all.len()]),
                _ => Slot::One(Set::from([at])),
            })
            .collect();
        let registers = evaluate(&Hangs, program, &given);
        let found = Sensitivities::compute(program, &inputs).unwrap();
        for (at, output) in program.outputs.iter().enumerate() {
            let set = match &registers[output.register.0 as usize] {
                Slot::One(set) | Slot::Truth(set) => set.clone(),
                Slot::Many(all) => all.iter().fold(Set::new(), |set, more| of(&set, more)),
                Slot::Empty => panic!("{}: {} is empty", shelved.name, output.name),
            };
            for sensitivity in found.all().iter().filter(|it| it.output == at) {
                moved += 1;
                assert!(
                    set.contains(&sensitivity.input),
                    "{}: {} moves {} and is not in its set",
                    shelved.name,
                    sensitivity.name,
                    output.name
                );
            }
            // one input that is not in the set, changed by a thousandth, leaves the result to the last digit
            let Some(nominal) = found.nominal().exact(&output.name) else { continue };
            let outside = (0..program.inputs.len()).find(|input| {
                let number = matches!(program.inputs[*input].type_, Type::Number { .. });
                let count = program.inputs[*input].kind.is_some_and(|kind| kind.name == "count");
                number && !count && !set.contains(input)
            });
            let Some(input) = outside.map(|at| &program.inputs[at]) else { continue };
            let Some(InputValue::One(value)) = inputs.value(input) else { continue };
            let more = Exact::from_decimal("1.001".parse().unwrap(), 0).unwrap();
            let own = Exact::from_decimal(value.digits, value.ten).unwrap();
            let changed = own.times(&more).unwrap();
            let changed = Literal::new(changed.mantissa(), changed.ten(), value.unit.clone());
            let mut one = inputs.clone();
            one.put(&input.name, InputValue::One(changed), None).unwrap();
            let Ok(results) = sheet.run(&one) else { continue };
            still += 1;
            assert_eq!(
                results.exact(&output.name).unwrap(),
                nominal,
                "{}: {} by {}",
                shelved.name,
                output.name,
                input.name
            );
        }
    }
    assert!(moved > 500 && still > 100, "{moved} that move, {still} that stand still");
}
