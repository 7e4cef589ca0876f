//! The workbooks of a document: each opened once, its problems reported once, whatever blocks use it.

use std::cell::OnceCell;
use std::rc::Rc;

use super::block::{BlockRequest, From};
use super::product::ProductReview;
use super::reader::{Opened, Reader};
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::environment::Environment as _;
use crate::language::Word;
use crate::program::Program;
use crate::recording::ProtocolVerdict;
use crate::spreadsheet::Book;
use crate::workbook::range::ProductLine;
use crate::workbook::{self, Request, bind};

impl Reader<'_> {
    /// The product line that a block asks for.
    pub(super) fn product_line(
        &mut self,
        asked: &BlockRequest,
        book: &Word,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<ProductReview> {
        let opened = self.opened(book, problems)?;
        let wanted = workbook::range::TableRequest {
            sheet: Some(asked.sheet.value.clone()),
            place: Some(Place::text(self.source, asked.sheet.span.clone())),
            ..workbook::range::TableRequest::default()
        };
        let line = match ProductLine::find(&opened.book, &wanted, &self.project()) {
            Ok(line) => line,
            Err(unfilled) => {
                self.sheet_is_wrong |= unfilled.sheet_is_wrong;
                problems.extend(unfilled.problems.into_iter().filter(Diagnostic::is_error));
                return None;
            }
        };
        ProductReview::compute(&asked.alias, &opened.book, &line)
            .map_err(|found| problems.extend(found))
            .ok()
    }

    /// A workbook, opened once; its problems are reported once.
    fn opened(&mut self, book: &Word, problems: &mut Vec<Diagnostic>) -> Option<Rc<Opened>> {
        if let Some(known) = self.books.get(&book.value) {
            return known.clone();
        }
        let read = self
            .environment
            .read(&self.folder.join(&book.value))
            .map_err(|problem| {
                Problems::from(
                    problem.label(Place::text(self.source, book.span.clone()), "asked for here"),
                )
            })
            .and_then(|bytes| Book::read(&book.value, &bytes));
        let opened = match read {
            Ok(book) => Some(Rc::new(Opened { book, bound: OnceCell::new() })),
            Err(found) => {
                problems.extend(found);
                None
            }
        };
        self.books.insert(book.value.clone(), opened.clone());
        opened
    }

    /// The verdict of the protocol that a workbook holds.
    pub(super) fn protocol(&self, from: &From) -> Option<ProtocolVerdict> {
        let opened = self.books.get(&from.book.value)?.as_ref()?;
        ProtocolVerdict::of(&opened.book)
    }

    /// The request of a workbook for a sheet.
    pub(super) fn request(
        &mut self,
        from: &From,
        sheet: &str,
        program: &Program,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<Request> {
        let place = Place::text(self.source, from.book.span.clone());
        let opened = self.opened(&from.book, problems)?;
        if let Some(problem) = ProtocolVerdict::refused(&opened.book) {
            problems.push(problem.label(place, "asked for here"));
            return None;
        }
        let mut sheet_is_wrong = false;
        let (requests, wrong) = opened.bound.get_or_init(|| {
            let bound = bind(&opened.book, None, &self.project());
            sheet_is_wrong = bound.sheet_is_wrong;
            let mut wrong: Vec<Diagnostic> =
                bound.problems.into_iter().filter(Diagnostic::is_error).collect();
            // which sheet is asked for is known here, and a document has no bind file
            for problem in wrong.iter_mut().filter(|it| it.name == Name::NothingAsked) {
                problem.remedy = format!(
                    "write `sheet {sheet}` into a cell and below it rows of name, value, unit; a workbook of results is no form"
                );
            }
            let any = !wrong.is_empty();
            problems.extend(wrong);
            (bound.requests, any)
        });
        self.sheet_is_wrong |= sheet_is_wrong;
        let source = program.scopes.first().map(|scope| &scope.source);
        let is_asked = |request: &&Request| {
            let there = request.program.scopes.first().map(|scope| &scope.source);
            there.zip(source).is_some_and(|(there, source)| there.is_same(source))
        };
        let mut fitting: Vec<Request> = requests.iter().filter(is_asked).cloned().collect();
        if let Some(at) = &from.at {
            fitting.retain(|request| request.place.to_text().ends_with(at.as_str()));
        }
        match fitting.len() {
            // with what could be read of it: ranges are looked at beside what could not
            1 => fitting.pop(),
            // what is wrong with the workbook is reported
            0 if *wrong => None,
            0 => {
                let headline = format!(
                    "`{}` does not ask for the sheet `{sheet}`{}",
                    from.book.value,
                    from.at.as_ref().map_or(String::new(), |at| format!(" at {at}"))
                );
                let remedy = "name cells of it, or write a labelled block into it; `standstill fill --dry-run` shows what it asks for";
                problems
                    .push(Diagnostic::error(Name::NothingAsked, headline).at(place).remedy(remedy));
                None
            }
            _ => {
                let places: Vec<String> =
                    fitting.iter().map(|request| request.place.to_text()).collect();
                let last = places
                    .first()
                    .and_then(|place| place.rsplit(' ').next())
                    .unwrap_or_default()
                    .to_owned();
                let headline = format!(
                    "`{}` asks for the sheet `{sheet}` {} times: {}",
                    from.book.value,
                    places.len(),
                    places.join(", ")
                );
                let remedy = format!("say which: `from {} at {last}`", from.book.value);
                problems
                    .push(Diagnostic::error(Name::AskedTwice, headline).at(place).remedy(remedy));
                None
            }
        }
    }
}
