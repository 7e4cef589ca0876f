//! What a formula rests on without saying so: an empty cell that counts as zero, a number typed as text that a sum passes
//! over, a value that is another at each opening, one that cannot be checked.
//!
//! What a formula treats itself is no doubt: `IF(F1="",0,F1)`, `COUNT(F1:F3)`, blanks among the numbers of a sum.

use super::catalogue::{
    ASKING, BRANCHING, CHANGING, GATHERING, LOOKING_UP, OF_NUMBERS, OF_TEXTS, ON_CONDITION, among,
    called, of_other_workbook, without_texts,
};
use super::twice::{Total, totals};
use super::typed::is_number;
use super::value::{At, Look, Node, Reader, Value, taken_as_saved};
use super::{Mention, mentions, shifted};
use crate::spreadsheet::model::book::{Book, Tab};
use crate::spreadsheet::model::cell::Cell;
use crate::spreadsheet::model::names::Target;
use crate::spreadsheet::model::position::{Area, Position};

/// A cell by its tab.
pub(crate) type CellOf = (String, Position);

/// Something that a formula rests on; each with the cell of the formula that takes it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Rest {
    /// An empty cell, which counts as zero.
    Empty { taken_by: CellOf, cell: CellOf },
    /// An area in which no number stands.
    NoNumber { taken_by: CellOf, tab: String, area: Area },
    /// A number typed as text.
    Text { taken_by: CellOf, cell: CellOf, text: String },
    /// A value that stands in for one that is not there: which cell that is, where it is one, and the value.
    StandIn { taken_by: CellOf, cell: Option<CellOf>, value: f64 },
    /// Words that a sum passes over.
    Words { taken_by: CellOf, cell: CellOf, text: String },
    /// A total among the numbers that it adds up, typed or a sum itself.
    Twice { taken_by: CellOf, cell: CellOf, typed: bool },
    /// A function whose value changes by itself.
    Changing { taken_by: CellOf, function: String },
    /// Something that is not known here: a function, another workbook, a reference made by a text.
    Unknown { taken_by: CellOf, what: String },
}

/// Everything in doubt on which the formula of a cell rests, those of its own cells first.
pub(crate) fn rests(book: &Book, tab: &str, cell: Position) -> Vec<Rest> {
    walked(book, tab, cell).found
}

/// The cells whose values the formula of a cell takes, those behind the formulas of these as well; each once.
pub(crate) fn sources(book: &Book, tab: &str, cell: Position) -> Vec<CellOf> {
    let mut taken = walked(book, tab, cell).taken;
    taken.sort();
    taken.dedup();
    taken
}

fn walked<'a>(book: &'a Book, tab: &str, cell: Position) -> Walk<'a> {
    let mut walk = Walk {
        look: Look::new(book),
        book,
        passed: Vec::new(),
        treated: Vec::new(),
        taken: Vec::new(),
        found: Vec::new(),
    };
    if let Some(tab) = book.tab(tab) {
        walk.formula(tab, cell, 0);
    }
    walk
}

/// Formulas on which that of a cell rests and which are not calculated here: their saved values may be older than the
/// cells that they come from.
pub(crate) fn not_calculated(book: &Book, tab: &str, cell: Position) -> Vec<Rest> {
    let rest = |taken_by: CellOf| {
        let (text, _) = book.tab(&taken_by.0)?.formulas.text(taken_by.1).unwrap_or_default();
        let mut names = called(&without_texts(text));
        names.sort();
        names.dedup();
        let names =
            if names.is_empty() { String::new() } else { format!(" ({})", names.join(", ")) };
        Some(Rest::Unknown { taken_by, what: format!("a step that is not calculated here{names}") })
    };
    let mut found: Vec<Rest> = Vec::new();
    for rest in taken_as_saved(book, tab, cell).into_iter().filter_map(rest) {
        if !found.contains(&rest) {
            found.push(rest);
        }
    }
    found
}

/// Formulas that lead to formulas.
const DEEPEST: u32 = 40;
/// Cells looked at for one formula.
const MOST: usize = 4_000;

struct Walk<'a> {
    look: Look<'a>,
    book: &'a Book,
    passed: Vec<CellOf>,
    /// Cells that a condition on the way has asked about.
    treated: Vec<CellOf>,
    /// Cells whose values it takes.
    taken: Vec<CellOf>,
    found: Vec<Rest>,
}

/// What is done with a value on the way.
#[derive(Clone, Copy, PartialEq)]
enum Use {
    /// It is handed on as it is.
    AsItIs,
    /// It is calculated with: a text that reads as a number is one in some programs, and zero or an error in others.
    Number,
}

impl<'a> Walk<'a> {
    fn formula(&mut self, tab: &'a Tab, cell: Position, depth: u32) {
        let key = (tab.name.clone(), cell);
        if depth >= DEEPEST || self.passed.len() >= MOST || self.passed.contains(&key) {
            return;
        }
        self.passed.push(key);
        let Some((text, moved)) = tab.formulas.text(cell) else { return };
        let at = At { tab, cell, moved, depth };
        match Reader::new(text).whole() {
            Some(node) => self.operand(&node, at, Use::AsItIs),
            None => self.text(text, at),
        }
    }

    fn taken_by(at: At<'_>) -> CellOf {
        (at.tab.name.clone(), at.cell)
    }

    fn found(&mut self, rest: Rest) {
        if !self.found.contains(&rest) {
            self.found.push(rest);
        }
    }

    fn unknown(&mut self, at: At<'a>, what: impl Into<String>) {
        self.found(Rest::Unknown { taken_by: Self::taken_by(at), what: what.into() });
    }

    /// A formula that is not understood as a whole: its calls, its references to other workbooks, and single cells.
    fn text(&mut self, text: &str, at: At<'a>) {
        let plain = without_texts(text);
        for name in called(&plain) {
            self.named_function(&name, at);
        }
        if of_other_workbook(text) {
            self.unknown(at, "a cell of another workbook");
        }
        let asks = called(&plain).iter().any(|name| among(ASKING, name)) || text.contains("\"\"");
        for mention in mentions(text) {
            match mention {
                Mention::Cells { tab, first, last } if !asks => {
                    let area = shifted(first, last, at.moved.0, at.moved.1);
                    let tab = tab.as_deref().map_or(Some(at.tab), |name| self.book.tab(name));
                    if let (Some(tab), true) = (tab, area.is_single()) {
                        self.cell(tab, area.first, at, Use::AsItIs);
                    }
                }
                Mention::Unresolved => {
                    self.unknown(at, "a reference that is made when it calculates")
                }
                _ => {}
            }
        }
    }

    /// A function by its name alone.
    fn named_function(&mut self, name: &str, at: At<'a>) {
        if among(CHANGING, name) {
            self.found(Rest::Changing { taken_by: Self::taken_by(at), function: name.to_owned() });
            return;
        }
        let lists = [ASKING, GATHERING, LOOKING_UP, OF_TEXTS, OF_NUMBERS, BRANCHING];
        let known = lists.iter().any(|list| among(list, name))
            || ON_CONDITION.iter().any(|it| it.0 == name);
        if !known {
            self.unknown(at, format!("the function {name}"));
        }
    }

    fn operand(&mut self, node: &Node, at: At<'a>, as_: Use) {
        match node {
            Node::Value(_) => {}
            Node::Cells(..) => {
                if let Some((tab, area)) =
                    self.look.area(node, at).filter(|(_, area)| area.is_single())
                {
                    self.cell(tab, area.first, at, as_);
                }
            }
            Node::Name(name) => self.name(name, at, as_),
            Node::Negative(of) | Node::Percent(of) => self.operand(of, at, Use::Number),
            Node::Binary(sign, one, other) => {
                let arithmetic = matches!(*sign, "+" | "-" | "*" | "/" | "^");
                let as_ = if arithmetic { Use::Number } else { Use::AsItIs };
                let before = self.treated.len();
                self.asked(node, at);
                self.operand(one, at, as_);
                self.operand(other, at, as_);
                self.treated.truncate(before);
            }
            Node::Call(name, arguments) => self.call(name, arguments, at),
        }
    }

    fn name(&mut self, name: &str, at: At<'a>, as_: Use) {
        let Some(known) = self.book.name_seen_from(&at.tab.name, name) else { return };
        match &known.target {
            Target::Cells { tab, area } => {
                if let Some(tab) = self.book.tab(tab).filter(|_| area.is_single()) {
                    self.cell(tab, area.first, at, as_);
                }
            }
            _ => match Reader::new(&known.text).whole() {
                Some(Node::Name(_)) | None => self.text(&known.text, at),
                Some(node) if at.depth < DEEPEST => {
                    self.operand(&node, At { depth: at.depth + 1, ..at }, as_);
                }
                Some(_) => {}
            },
        }
    }

    fn cell(&mut self, tab: &'a Tab, cell: Position, at: At<'a>, as_: Use) {
        if !tab.keeps(cell.row) {
            return;
        }
        if tab.has_formula(cell) {
            self.formula(tab, cell, at.depth + 1);
        }
        let key = (tab.name.clone(), cell);
        self.taken.push(key.clone());
        let held = tab.entry(cell).map(|entry| entry.held());
        match held {
            _ if self.treated.contains(&key) => {}
            None | Some(Cell::Empty) if !tab.has_formula(cell) => {
                self.found(Rest::Empty { taken_by: Self::taken_by(at), cell: key });
            }
            Some(Cell::Text(text)) if as_ == Use::Number && is_number(text) => {
                self.found(Rest::Text {
                    taken_by: Self::taken_by(at),
                    cell: key,
                    text: text.clone(),
                });
            }
            _ => {}
        }
    }

    fn call(&mut self, name: &str, arguments: &[Node], at: At<'a>) {
        let name = name.trim_start_matches("_XLFN.").trim_start_matches("_XLWS.");
        match (name, arguments) {
            (name, _) if among(ASKING, name) => self.besides_cells(arguments, at),
            ("IF" | "IFS", _) => self.branch(name, arguments, at),
            ("IFERROR" | "IFNA", [of, otherwise]) => {
                if self.look.value(of, at).is_some() {
                    self.operand(of, at, Use::AsItIs);
                } else {
                    // an empty divisor is what it is for
                    let before = self.found.len();
                    self.operand(of, at, Use::AsItIs);
                    let of_empty =
                        |it: &Rest| matches!(it, Rest::Empty { .. } | Rest::NoNumber { .. });
                    let found = self.found.split_off(before);
                    self.found.extend(found.into_iter().filter(|it| !of_empty(it)));
                    if self.look.fails(of, at) {
                        self.stands_in(otherwise, None, at);
                    }
                    self.operand(otherwise, at, Use::AsItIs);
                }
            }
            ("CHOOSE", [index, choices @ ..]) => {
                self.operand(index, at, Use::Number);
                let chosen = (1_u32..).zip(choices).find(|(count, _)| {
                    matches!(self.look.value(index, at), Some(Value::Number(number)) if number == f64::from(*count))
                });
                match chosen {
                    Some((_, choice)) => self.operand(choice, at, Use::AsItIs),
                    None => choices.iter().for_each(|choice| self.operand(choice, at, Use::AsItIs)),
                }
            }
            ("N", [of]) => {
                let cell = self.look.area(of, at).filter(|(_, area)| area.is_single());
                if let (Some(Value::Text(_)), Some((tab, area))) = (self.look.value(of, at), cell) {
                    let cell = Some((tab.name.clone(), area.first));
                    self.found(Rest::StandIn { taken_by: Self::taken_by(at), cell, value: 0.0 });
                }
                self.operand(of, at, Use::AsItIs);
            }
            ("INDIRECT", [Node::Value(Value::Text(text))]) => match Reader::new(text).whole() {
                Some(node) => self.operand(&node, At { moved: (0, 0), ..at }, Use::AsItIs),
                None => self.unknown(at, "INDIRECT, whose cell is named by a text"),
            },
            ("INDIRECT", _) => {
                self.besides_cells(arguments, at);
                self.unknown(at, "INDIRECT, whose cell is named by a text");
            }
            ("OFFSET", [of, by @ ..]) => {
                by.iter().for_each(|node| self.operand(node, at, Use::Number));
                match self.look.offset(of, by, at) {
                    Some((tab, cell)) => self.cell(tab, cell, at, Use::AsItIs),
                    None => self.unknown(at, "OFFSET, whose cell is counted out"),
                }
            }
            (name, _) if among(LOOKING_UP, name) => self.looked_up(name, arguments, at),
            (name, _) if among(GATHERING, name) => self.gathered(name, arguments, at),
            (name, _) if let Some((_, which)) = ON_CONDITION.iter().find(|it| it.0 == name) => {
                self.besides_cells(arguments, at);
                let which = (*which).min(arguments.len().saturating_sub(1));
                // with a condition alone the first is gathered
                let which = if arguments.len() == 2 { 0 } else { which };
                let area = arguments.get(which).and_then(|node| self.look.area(node, at));
                if let Some((tab, area)) = area {
                    let before = self.taken.len();
                    self.area(tab, area, at);
                    // of these those count that fulfil the conditions
                    self.look.landed.clear();
                    if self.look.on_conditions(name, arguments, at).is_some() {
                        self.taken.truncate(before);
                        let landed = self.look.landed.drain(..);
                        self.taken.extend(landed.map(|(tab, cell)| (tab.name.clone(), cell)));
                    }
                }
            }
            (name, _) => {
                self.named_function(name, at);
                let as_ = if among(OF_TEXTS, name) { Use::AsItIs } else { Use::Number };
                arguments.iter().for_each(|node| self.operand(node, at, as_));
            }
        }
    }

    /// The arguments that are no references themselves.
    fn besides_cells(&mut self, arguments: &[Node], at: At<'a>) {
        let others =
            arguments.iter().filter(|node| !matches!(node, Node::Cells(..) | Node::Name(_)));
        others.for_each(|node| self.operand(node, at, Use::AsItIs));
    }

    /// The branch that is taken; all of them where that is not known.
    fn branch(&mut self, name: &str, arguments: &[Node], at: At<'a>) {
        let before = self.treated.len();
        let mut rest = arguments;
        while let [condition, value, others @ ..] = rest {
            self.asked(condition, at);
            self.operand(condition, at, Use::AsItIs);
            let truth = match self.look.value(condition, at) {
                Some(Value::Truth(truth)) => Some(truth),
                Some(Value::Number(number)) => Some(number != 0.0),
                _ => None,
            };
            if truth != Some(false) {
                self.operand(value, at, Use::AsItIs);
            }
            if let (Some(truth), "IF", [otherwise]) = (truth, name, others) {
                let (taken, passed) = if truth { (value, otherwise) } else { (otherwise, value) };
                self.instead_of(taken, passed, before, at);
            }
            if truth == Some(true) {
                rest = &[];
            } else {
                rest = others;
            }
            if name == "IF" {
                break;
            }
        }
        if let ("IF", [otherwise]) = (name, rest) {
            self.operand(otherwise, at, Use::AsItIs);
        }
        self.treated.truncate(before);
    }

    /// Notes a branch that is taken because the cell is empty which the other would take: `IF(B2="",22,B2)`.
    fn instead_of(&mut self, taken: &Node, passed: &Node, asked: usize, at: At<'a>) {
        let asked: Vec<CellOf> = self.treated.get(asked..).unwrap_or_default().to_vec();
        let is_empty = |(tab, cell): &&CellOf| {
            let tab = self.book.tab(tab);
            tab.is_some_and(|tab| tab.cell(*cell).is_empty() && !tab.has_formula(*cell))
        };
        let takes = |node: &Node, (tab, cell): &CellOf| {
            let is_it = |of: &Tab, area: Area| of.name == *tab && area.contains(*cell);
            node.any(&|it| self.look.area(it, at).is_some_and(|(of, area)| is_it(of, area)))
        };
        let mut empty = asked.iter().filter(is_empty);
        let found = empty.find(|cell| takes(passed, cell) && !takes(taken, cell)).cloned();
        if found.is_some() {
            self.stands_in(taken, found, at);
        }
    }

    /// Notes a number that stands in for another; words and an empty text do not pass for one.
    fn stands_in(&mut self, node: &Node, cell: Option<CellOf>, at: At<'a>) {
        if let Some(Value::Number(value)) = self.look.value(node, at) {
            self.found(Rest::StandIn { taken_by: Self::taken_by(at), cell, value });
        }
    }

    /// Notes the cells about which a condition asks whether they are empty.
    fn asked(&mut self, node: &Node, at: At<'a>) {
        match node {
            Node::Binary("=" | "<>", one, other) => {
                for (cell, text) in [(one, other), (other, one)] {
                    match &**text {
                        Node::Value(Value::Text(text)) if text.is_empty() => self.treat(cell, at),
                        _ => self.asked(cell, at),
                    }
                }
            }
            Node::Binary(_, one, other) => {
                self.asked(one, at);
                self.asked(other, at);
            }
            Node::Call(name, arguments) if among(ASKING, name) => {
                arguments.iter().for_each(|of| self.treat(of, at));
            }
            Node::Call(name, arguments) if matches!(name.as_str(), "AND" | "OR" | "NOT") => {
                arguments.iter().for_each(|of| self.asked(of, at));
            }
            _ => {}
        }
    }

    fn treat(&mut self, node: &Node, at: At<'a>) {
        let Some((tab, area)) = self.look.area(node, at) else { return };
        let columns = area.first.column..=area.last.column;
        let all = (area.first.row..=area.last.row)
            .flat_map(|row| columns.clone().filter_map(move |column| Position::new(row, column)));
        self.treated.extend(all.take(MOST).map(|cell| (tab.name.clone(), cell)));
    }

    fn looked_up(&mut self, name: &str, arguments: &[Node], at: At<'a>) {
        let single = |node: &Node, walk: &Self| {
            walk.look.area(node, at).is_none_or(|(_, area)| area.is_single())
        };
        for node in arguments {
            if single(node, self) {
                self.operand(node, at, Use::AsItIs);
            }
        }
        self.look.landed.clear();
        let _ = self.look.looked_up(name, arguments, at);
        for (tab, cell) in std::mem::take(&mut self.look.landed) {
            self.cell(tab, cell, at, Use::AsItIs);
        }
    }

    fn gathered(&mut self, name: &str, arguments: &[Node], at: At<'a>) {
        if name == "SUMPRODUCT" {
            self.without_partner(arguments, at);
        }
        let mut areas = Vec::new();
        let mut other = false;
        for node in arguments {
            match self.look.area(node, at) {
                Some((tab, area)) if !area.is_single() => areas.push((tab, area)),
                _ => {
                    // the number of a function, or of the largest that is wanted, is none of its numbers
                    other |= !matches!(name, "SUBTOTAL" | "AGGREGATE" | "LARGE" | "SMALL");
                    self.operand(node, at, Use::Number);
                }
            }
        }
        let mut any = false;
        for (tab, area) in &areas {
            any |= self.area(tab, *area, at);
        }
        if matches!(name, "SUM" | "AVERAGE" | "PRODUCT") {
            let added: Vec<_> =
                arguments.iter().filter_map(|node| self.look.area(node, at)).collect();
            for Total { tab, cell, typed } in totals(&mut self.look, &added, at) {
                let cell = (tab.name.clone(), cell);
                self.found(Rest::Twice { taken_by: Self::taken_by(at), cell, typed });
            }
        }
        if let (Some((tab, area)), false) = (areas.first(), any || other) {
            self.found(Rest::NoNumber {
                taken_by: Self::taken_by(at),
                tab: tab.name.clone(),
                area: *area,
            });
        }
    }

    /// Whether a number may stand in an area; numbers in it that are typed as text are found.
    fn area(&mut self, tab: &'a Tab, area: Area, at: At<'a>) -> bool {
        let last = area.last.row.min(tab.used().map_or(0, |used| used.last.row));
        let mut any = false;
        for row in area.first.row..=last {
            if !tab.keeps(row) || self.passed.len() >= MOST {
                return true;
            }
            for entry in tab.row(row).iter().filter(|entry| area.contains(entry.position)) {
                any |= entry.formula || matches!(entry.held(), Cell::Number(_));
                if !entry.held().is_empty() || entry.formula {
                    let before = self.found.len();
                    self.cell(tab, entry.position, at, Use::Number);
                    // a line of a list that is not used counts as nothing
                    let nothing = |it: &Rest| matches!(it, Rest::StandIn { value: 0.0, .. });
                    let found = self.found.split_off(before);
                    self.found.extend(found.into_iter().filter(|it| !nothing(it)));
                }
                // before the numbers stand headings and names
                if let (Cell::Text(text), true) = (entry.held(), any)
                    && !is_number(text)
                    && !text.trim().is_empty()
                {
                    self.found(Rest::Words {
                        taken_by: Self::taken_by(at),
                        cell: (tab.name.clone(), entry.position),
                        text: text.clone(),
                    });
                }
            }
        }
        any
    }

    /// Empty cells beside numbers in a sum of products: the part counts as nothing.
    fn without_partner(&mut self, arguments: &[Node], at: At<'a>) {
        let areas: Option<Vec<_>> = arguments.iter().map(|node| self.look.area(node, at)).collect();
        let Some(areas) = areas else { return };
        let Some((_, first)) = areas.first() else { return };
        let height = first.last.row - first.first.row;
        let column = |area: &Area| {
            area.first.column == area.last.column && area.last.row - area.first.row == height
        };
        if areas.len() < 2 || !areas.iter().all(|(_, area)| column(area)) {
            return;
        }
        for down in 0..=height.min(1_000) {
            let cells = areas.iter().filter_map(|(tab, area)| {
                Some((*tab, Position::new(area.first.row + down, area.first.column)?))
            });
            let cells: Vec<_> = cells.collect();
            if cells.iter().any(|(tab, cell)| matches!(tab.cell(*cell), Cell::Number(_))) {
                cells.into_iter().for_each(|(tab, cell)| self.cell(tab, cell, at, Use::Number));
            }
        }
    }
}
