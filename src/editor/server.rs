//! The protocol: requests answered, problems sent whenever nothing more is waiting.

use std::path::PathBuf;

use lsp_server::{Connection, ErrorCode, Message, Notification, Request, Response};
use lsp_types::notification::{self, Notification as _};
use lsp_types::request::{self, Request as _};
use lsp_types::{
    CodeAction, CodeActionKind, CodeActionOrCommand, CodeActionParams,
    CodeActionProviderCapability, CompletionOptions, CompletionParams, CompletionResponse,
    DidChangeTextDocumentParams, DidCloseTextDocumentParams, DidOpenTextDocumentParams,
    DocumentFormattingParams, GotoDefinitionParams, GotoDefinitionResponse, Hover, HoverContents,
    HoverParams, Location, MarkupContent, MarkupKind, OneOf, PrepareRenameResponse,
    PublishDiagnosticsParams, ReferenceParams, RenameOptions, RenameParams, ServerCapabilities,
    TextDocumentPositionParams, TextDocumentSyncCapability, TextDocumentSyncKind, TextEdit, Uri,
    WorkspaceEdit,
};
use serde_json::Value;

use super::documents::{Document, Documents};
use super::occurrences::{Occurrence, Role};
use super::position::{offset, range};
use super::problems::place_in;
use super::rename::{Changes, can_be_renamed};
use crate::environment::Environment;
use crate::language::{self, Group, tidy};

/// What went wrong with a request, in words for the editor.
struct Refused(ErrorCode, String);

/// Answers an editor until it says that it ends; whether it said so.
///
/// `library` is the folder in which sheets of the library are shown; without one they are not opened.
pub(crate) fn serve(
    connection: &Connection,
    environment: &dyn Environment,
    library: Option<PathBuf>,
) -> bool {
    let able = serde_json::to_value(capabilities()).unwrap_or_default();
    if connection.initialize(able).is_err() {
        return false;
    }
    let mut server = Server { connection, documents: Documents::new(environment, library) };
    let mut changed = false;
    while let Ok(message) = connection.receiver.recv() {
        match message {
            Message::Request(request) => match connection.handle_shutdown(&request) {
                Ok(true) => return true,
                Ok(false) => server.answer(request),
                Err(_) => return false,
            },
            Message::Notification(note) if note.method == notification::Exit::METHOD => {
                return false;
            }
            Message::Notification(note) => changed |= server.note(note),
            Message::Response(_) => {}
        }
        // a person types faster than all sheets are checked: what waits is taken in first
        if changed && connection.receiver.is_empty() {
            server.publish();
            changed = false;
        }
    }
    false
}

fn capabilities() -> ServerCapabilities {
    ServerCapabilities {
        text_document_sync: Some(TextDocumentSyncCapability::Kind(TextDocumentSyncKind::FULL)),
        hover_provider: Some(true.into()),
        completion_provider: Some(CompletionOptions {
            trigger_characters: Some([".", ":", "=", ","].map(str::to_owned).into()),
            ..CompletionOptions::default()
        }),
        definition_provider: Some(OneOf::Left(true)),
        references_provider: Some(OneOf::Left(true)),
        rename_provider: Some(OneOf::Right(RenameOptions {
            prepare_provider: Some(true),
            work_done_progress_options: lsp_types::WorkDoneProgressOptions::default(),
        })),
        document_formatting_provider: Some(OneOf::Left(true)),
        code_action_provider: Some(CodeActionProviderCapability::Simple(true)),
        ..ServerCapabilities::default()
    }
}

struct Server<'a> {
    connection: &'a Connection,
    documents: Documents<'a>,
}

impl Server<'_> {
    fn answer(&self, request: Request) {
        let answer = match request.method.as_str() {
            request::HoverRequest::METHOD => read(request.params).and_then(|it| self.hover(it)),
            request::Completion::METHOD => read(request.params).and_then(|it| self.complete(it)),
            request::GotoDefinition::METHOD => read(request.params).and_then(|it| self.define(it)),
            request::References::METHOD => read(request.params).and_then(|it| self.references(it)),
            request::PrepareRenameRequest::METHOD => {
                read(request.params).and_then(|it| self.prepare_rename(it))
            }
            request::Rename::METHOD => read(request.params).and_then(|it| self.rename(it)),
            request::Formatting::METHOD => read(request.params).and_then(|it| self.format(it)),
            request::CodeActionRequest::METHOD => read(request.params).and_then(|it| self.fix(it)),
            method => {
                Err(Refused(ErrorCode::MethodNotFound, format!("`{method}` is not answered")))
            }
        };
        let response = match answer {
            Ok(value) => Response::new_ok(request.id, value),
            Err(Refused(code, words)) => Response::new_err(request.id, code as i32, words),
        };
        // an editor that has gone is noticed by the loop
        let _ = self.connection.sender.send(Message::Response(response));
    }

    /// Takes in what the editor says; whether problems may have changed.
    fn note(&mut self, note: Notification) -> bool {
        match note.method.as_str() {
            notification::DidOpenTextDocument::METHOD => {
                if let Ok(it) = read::<DidOpenTextDocumentParams>(note.params) {
                    let document = it.text_document;
                    self.documents.put(document.uri, Some(document.version), &document.text);
                    return true;
                }
            }
            notification::DidChangeTextDocument::METHOD => {
                if let Ok(mut it) = read::<DidChangeTextDocumentParams>(note.params)
                    && let Some(change) = it.content_changes.pop()
                {
                    let document = it.text_document;
                    self.documents.put(document.uri, Some(document.version), &change.text);
                    return true;
                }
            }
            notification::DidCloseTextDocument::METHOD => {
                if let Ok(it) = read::<DidCloseTextDocumentParams>(note.params) {
                    self.documents.remove(&it.text_document.uri);
                    self.send(it.text_document.uri, None, Vec::new());
                    return true;
                }
            }
            // a file beside a sheet may have become another one
            notification::DidSaveTextDocument::METHOD
            | notification::DidChangeWatchedFiles::METHOD => return true,
            _ => {}
        }
        false
    }

    /// Checks all sheets that are open, for one may use another, and sends their problems.
    fn publish(&mut self) {
        self.documents.check_all();
        for document in self.documents.all() {
            let shown = self.documents.shown(document);
            self.send(document.uri.clone(), document.version, shown);
        }
    }

    fn send(&self, uri: Uri, version: Option<i32>, diagnostics: Vec<lsp_types::Diagnostic>) {
        let params = PublishDiagnosticsParams { uri, diagnostics, version };
        let method = notification::PublishDiagnostics::METHOD.to_owned();
        let _ =
            self.connection.sender.send(Message::Notification(Notification::new(method, params)));
    }

    fn document(&self, uri: &Uri) -> Result<&Document, Refused> {
        let words = || format!("`{}` is not open", uri.as_str());
        self.documents.get(uri).ok_or_else(|| Refused(ErrorCode::InvalidParams, words()))
    }

    /// The document and the word at a position.
    fn word(
        &self,
        at: &TextDocumentPositionParams,
    ) -> Result<(&Document, Option<&Occurrence>), Refused> {
        let document = self.document(&at.text_document.uri)?;
        Ok((document, document.word_at(offset(document.text(), at.position))))
    }

    fn hover(&self, asked: HoverParams) -> Result<Value, Refused> {
        let (document, word) = self.word(&asked.text_document_position_params)?;
        let Some(word) = word else { return Ok(Value::Null) };
        let lines = self.documents.about(document, word);
        if lines.is_empty() {
            return Ok(Value::Null);
        }
        let text = MarkupContent { kind: MarkupKind::Markdown, value: lines.join("\n\n") };
        let range = Some(range(document.text(), &word.span));
        said(Hover { contents: HoverContents::Markup(text), range })
    }

    fn complete(&self, asked: CompletionParams) -> Result<Value, Refused> {
        let at = asked.text_document_position;
        let document = self.document(&at.text_document.uri)?;
        let items = self.documents.complete(document, offset(document.text(), at.position));
        said(CompletionResponse::Array(items))
    }

    fn define(&self, asked: GotoDefinitionParams) -> Result<Value, Refused> {
        let (document, word) = self.word(&asked.text_document_position_params)?;
        let found = word.and_then(|word| self.definition(document, word));
        said(found.map(GotoDefinitionResponse::Scalar))
    }

    fn definition(&self, document: &Document, word: &Occurrence) -> Option<Location> {
        let here = |found: &Occurrence| {
            Location::new(document.uri.clone(), range(document.text(), &found.span))
        };
        match &word.role {
            Role::Group(handle) => match document.tree.group(handle) {
                Some(group) => self.of_group(group),
                None => {
                    let standing = |line: &'_ language::Use| line.standing.clone();
                    let mut all = document.tree.uses.iter().filter_map(standing);
                    let source = all.find(|it| it.state == *handle)?.source;
                    let (tree, _) = language::parse(&source);
                    self.documents.location(&source, &tree.name?.span)
                }
            },
            Role::Own | Role::Itself(_) => {
                let take = document.tree.takes.iter().find(|take| take.name.value == word.name);
                match (document.tree.group(&word.name), take.and_then(|take| take.from.as_ref())) {
                    (Some(group), _) => self.of_group(group),
                    (None, Some((source, _))) => self.documents.location(source, &take?.name.span),
                    _ => document.definition(&word.name).map(here),
                }
            }
            Role::Local(_) => document.same_as(word).into_iter().find(|it| it.defines).map(here),
            Role::Sheet(alias) => {
                let source = self.documents.sheet_of(document, document.used(alias)?)?;
                let (tree, _) = language::parse(&source);
                self.documents.location(&source, &tree.name.map_or(0..0, |name| name.span))
            }
            Role::Result(alias) | Role::Argument(alias) => {
                let (alias, name) = match &word.role {
                    Role::Result(_) => document.result_of(alias, &word.name),
                    _ => (alias.clone(), word.name.clone()),
                };
                let source = self.documents.sheet_of(document, document.used(&alias)?)?;
                let tree = self.documents.tree(&source);
                if let Some(group) = tree.group(&name) {
                    return self.of_group(group);
                }
                let takes = tree.takes.iter().map(|line| {
                    (&line.name, line.from.as_ref().map_or(&source, |(source, _)| source))
                });
                let mut all = takes.chain(tree.works.iter().map(|line| (&line.name, &source)));
                let (place, source) = all.find(|(word, _)| word.value == name)?;
                self.documents.location(source, &place.span)
            }
            Role::BuiltIn | Role::Kind | Role::Unit => None,
        }
    }

    fn of_group(&self, group: &Group) -> Option<Location> {
        self.documents.location(group.source.as_ref()?, &(0..0))
    }

    fn references(&self, asked: ReferenceParams) -> Result<Value, Refused> {
        let (document, word) = self.word(&asked.text_document_position)?;
        let all = word.map(|word| document.same_as(word)).unwrap_or_default();
        let wanted = all.into_iter().filter(|it| asked.context.include_declaration || !it.defines);
        let place =
            |it: &Occurrence| Location::new(document.uri.clone(), range(document.text(), &it.span));
        said(wanted.map(place).collect::<Vec<_>>())
    }

    fn prepare_rename(&self, asked: TextDocumentPositionParams) -> Result<Value, Refused> {
        let (document, word) = self.word(&asked)?;
        let Some(word) = word else { return Ok(Value::Null) };
        can_be_renamed(word).map_err(|words| Refused(ErrorCode::RequestFailed, words))?;
        said(PrepareRenameResponse::RangeWithPlaceholder {
            range: range(document.text(), &word.span),
            placeholder: word.name.clone(),
        })
    }

    fn rename(&self, asked: RenameParams) -> Result<Value, Refused> {
        let (document, word) = self.word(&asked.text_document_position)?;
        let refused = |words: String| Refused(ErrorCode::RequestFailed, words);
        let word = word.ok_or_else(|| refused("no name stands here".to_owned()))?;
        let changes =
            self.documents.rename(document, word, asked.new_name.trim()).map_err(refused)?;
        said(edit(changes))
    }

    fn format(&self, asked: DocumentFormattingParams) -> Result<Value, Refused> {
        let document = self.document(&asked.text_document.uri)?;
        let edit = tidied(document.text()).map(|edit| {
            let new_text = self.documents.ended(document, edit.new_text);
            TextEdit { new_text, ..edit }
        });
        said(edit.into_iter().collect::<Vec<_>>())
    }

    fn fix(&self, asked: CodeActionParams) -> Result<Value, Refused> {
        let document = self.document(&asked.text_document.uri)?;
        let mut actions = Vec::new();
        for problem in &document.problems {
            let place = place_in(document, problem);
            if place.end < asked.range.start || asked.range.end < place.start {
                continue;
            }
            let fixes = self.documents.fixes(document, problem);
            // where two things may be meant, a person decides
            let only = fixes.len() == 1 && fixes.iter().all(|fix| fix.alone);
            for fix in fixes {
                let edits = vec![TextEdit::new(range(document.text(), &fix.span), fix.text)];
                actions.push(CodeActionOrCommand::CodeAction(CodeAction {
                    title: fix.title,
                    kind: Some(CodeActionKind::QUICKFIX),
                    diagnostics: Some(vec![self.documents.problem(document, problem)]),
                    edit: Some(edit(vec![(document.uri.clone(), edits)])),
                    is_preferred: only.then_some(true),
                    ..CodeAction::default()
                }));
            }
        }
        said(actions)
    }
}

/// What a request asks.
fn read<T: serde::de::DeserializeOwned>(params: Value) -> Result<T, Refused> {
    serde_json::from_value(params)
        .map_err(|error| Refused(ErrorCode::InvalidParams, error.to_string()))
}

/// What is answered.
fn said(answer: impl serde::Serialize) -> Result<Value, Refused> {
    serde_json::to_value(answer)
        .map_err(|error| Refused(ErrorCode::InternalError, error.to_string()))
}

#[allow(clippy::mutable_key_type, reason = "the protocol's own map; an address is never changed")]
fn edit(changes: Changes) -> WorkspaceEdit {
    WorkspaceEdit { changes: Some(changes.into_iter().collect()), ..WorkspaceEdit::default() }
}

/// The one change that puts the blanks of a text in order; the lines before and after it stay.
fn tidied(text: &str) -> Option<TextEdit> {
    let new = tidy(text);
    if new == text {
        return None;
    }
    let equal = |a: &[&str], b: &[&str]| a.iter().zip(b).take_while(|(a, b)| a == b).count();
    let (old, new): (Vec<&str>, Vec<&str>) =
        (text.split_inclusive('\n').collect(), new.split_inclusive('\n').collect());
    let head = equal(&old, &new);
    let rest =
        |all: &[&str]| all.iter().skip(head).rev().map(|it| it.to_string()).collect::<Vec<_>>();
    let (old_rest, new_rest) = (rest(&old), rest(&new));
    let tail = old_rest.iter().zip(&new_rest).take_while(|(a, b)| a == b).count();
    let start: usize = old.iter().take(head).map(|line| line.len()).sum();
    let end = text.len() - old_rest.iter().take(tail).map(String::len).sum::<usize>();
    let lines: String = new_rest.iter().skip(tail).rev().map(String::as_str).collect();
    Some(TextEdit::new(range(text, &(start..end)), lines))
}

#[cfg(test)]
mod tests {
    use lsp_types::Position;

    use super::{offset, tidied};

    #[test]
    fn only_the_lines_that_change_are_sent() {
        let text = "sheet s\ntitle \"t\"\n\nworks\n  a=2*b\n  c = a\n";
        let edit = tidied(text).unwrap();
        assert_eq!((edit.range.start, edit.range.end), (Position::new(4, 0), Position::new(5, 0)));
        assert_eq!(edit.new_text, "  a = 2 * b\n");
        let mut changed = text.to_owned();
        changed.replace_range(
            offset(text, edit.range.start)..offset(text, edit.range.end),
            &edit.new_text,
        );
        assert_eq!(changed, crate::language::tidy(text));
        assert!(tidied(&changed).is_none());
    }
}
