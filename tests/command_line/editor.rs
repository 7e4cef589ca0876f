//! A client that speaks the language server protocol 3.17 over standard input and output, as an editor does.

use std::fs;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use serde_json::{Value, json};

struct Client {
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
    asked: u64,
}

impl Client {
    fn start(folder: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_standstill"))
            .arg("editor")
            .current_dir(folder)
            .env("XDG_CACHE_HOME", folder.join("cache"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let to = child.stdin.take().unwrap();
        let from = BufReader::new(child.stdout.take().unwrap());
        let mut client = Self { child, to, from, asked: 0 };
        let able = client
            .ask("initialize", json!({ "processId": null, "rootUri": null, "capabilities": {} }));
        assert_eq!(able["capabilities"]["textDocumentSync"], 1);
        client.tell("initialized", json!({}));
        client
    }

    fn send(&mut self, mut message: Value) {
        message["jsonrpc"] = json!("2.0");
        let text = message.to_string();
        write!(self.to, "Content-Length: {}\r\n\r\n{text}", text.len()).unwrap();
        self.to.flush().unwrap();
    }

    fn receive(&mut self) -> Value {
        let mut length = 0;
        loop {
            let mut line = String::new();
            assert!(self.from.read_line(&mut line).unwrap() > 0, "the server has gone");
            match line.trim().split_once(": ") {
                Some(("Content-Length", number)) => length = number.parse().unwrap(),
                Some(_) => {}
                None => break,
            }
        }
        let mut text = vec![0; length];
        self.from.read_exact(&mut text).unwrap();
        serde_json::from_slice(&text).unwrap()
    }

    fn tell(&mut self, method: &str, params: Value) {
        self.send(json!({ "method": method, "params": params }));
    }

    /// The whole answer, with its error where there is one.
    fn ask_for(&mut self, method: &str, params: Value) -> Value {
        self.asked += 1;
        self.send(json!({ "id": self.asked, "method": method, "params": params }));
        loop {
            let message = self.receive();
            if message["id"] == self.asked {
                return message;
            }
        }
    }

    fn ask(&mut self, method: &str, params: Value) -> Value {
        let mut answer = self.ask_for(method, params);
        assert_eq!(answer["error"], Value::Null, "{method}");
        answer["result"].take()
    }

    /// The problems of a document, of its newest version.
    fn problems(&mut self, uri: &str, version: i64) -> Vec<Value> {
        loop {
            let message = self.receive();
            let params = &message["params"];
            if message["method"] == "textDocument/publishDiagnostics"
                && params["uri"] == uri
                && params["version"] == version
            {
                return params["diagnostics"].as_array().unwrap().clone();
            }
        }
    }

    fn open(&mut self, uri: &str, text: &str) -> Vec<Value> {
        let document =
            json!({ "uri": uri, "languageId": "standstill", "version": 1, "text": text });
        self.tell("textDocument/didOpen", json!({ "textDocument": document }));
        self.problems(uri, 1)
    }

    fn change(&mut self, uri: &str, version: i64, text: &str) -> Vec<Value> {
        let document = json!({ "uri": uri, "version": version });
        let changes = json!([{ "text": text }]);
        self.tell(
            "textDocument/didChange",
            json!({ "textDocument": document, "contentChanges": changes }),
        );
        self.problems(uri, version)
    }

    /// Asks about the place at which a part of a text begins, some signs further.
    fn at(&mut self, method: &str, uri: &str, text: &str, part: &str, further: usize) -> Value {
        let params =
            json!({ "textDocument": { "uri": uri }, "position": position(text, part, further) });
        self.ask(method, params)
    }

    fn end(mut self) {
        assert_eq!(self.ask("shutdown", Value::Null), Value::Null);
        self.tell("exit", Value::Null);
        assert_eq!(self.child.wait().unwrap().code(), Some(0));
    }
}

fn position(text: &str, part: &str, further: usize) -> Value {
    let before = &text[..text.find(part).unwrap() + further];
    let line = before.matches('\n').count();
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    json!({ "line": line, "character": before[start..].encode_utf16().count() })
}

/// The text with a change as the protocol describes it: from the last to the first.
fn changed(text: &str, edits: &Value) -> String {
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let offset = |at: &Value| {
        let line = usize::try_from(at["line"].as_u64().unwrap()).unwrap();
        let units = usize::try_from(at["character"].as_u64().unwrap()).unwrap();
        let start: usize = lines[..line].iter().map(|line| line.len()).sum();
        let rest = lines.get(line).copied().unwrap_or("");
        let mut passed = 0;
        let letter = rest.char_indices().find(|(_, letter)| {
            passed += letter.len_utf16();
            passed > units
        });
        start + letter.map_or(rest.len(), |(at, _)| at)
    };
    let mut edits: Vec<&Value> = edits.as_array().unwrap().iter().collect();
    edits.sort_by_key(|edit| std::cmp::Reverse(offset(&edit["range"]["start"])));
    let mut text = text.to_owned();
    for edit in edits {
        let range = offset(&edit["range"]["start"])..offset(&edit["range"]["end"]);
        text.replace_range(range, edit["newText"].as_str().unwrap());
    }
    text
}

const AXIS: &str = "sheet axis\ntitle \"An axis\"\nsource \"t = J·ω/T\"\n\nuses\n  coast = saw with J, n_0 = n\n\ntakes\n  \
    J : inertia in kg·m² above 0 kg·m² like 2 kg·m²  \"rotor\"\n  \
    n : speed of rotation in r/min above 0 r/min like 1500 r/min\n\nworks\n  \
    t = coast.t_stop + t_delya  # both\n  t_delay = 100 ms\n\ngives\n  t in s\n";

const SAW: &str = "sheet saw\ntitle \"A saw\"\nsource \"t = J·ω/T\"\n\ntakes\n  J : inertia in kg·m² above 0 kg·m² like 2 kg·m²\n  \
    n_0 : speed of rotation in r/min above 0 r/min like 1500 r/min\n\nworks\n  T = 4 N·m\n  t_stop = J * n_0 / T  \"by friction\"\n\ngives\n  t_stop in s\n";

fn files(folder: &Path) -> (String, String) {
    let folder = folder.join("own axes");
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join("saw.sheet"), SAW).unwrap();
    fs::write(folder.join("axis.sheet"), AXIS).unwrap();
    let folder = folder.canonicalize().unwrap().display().to_string().replace(' ', "%20");
    (format!("file://{folder}/axis.sheet"), format!("file://{folder}/saw.sheet"))
}

#[test]
fn a_problem_is_shown_mended_and_gone() {
    let folder = tempfile::tempdir().unwrap();
    let (axis, _) = files(folder.path());
    let mut client = Client::start(folder.path());
    let problems = client.open(&axis, AXIS);
    let wrong = problems.iter().find(|it| it["code"] == "unknown-name").unwrap();
    assert_eq!(wrong["severity"], 1);
    assert!(wrong["message"].as_str().unwrap().contains("did you mean `t_delay`"), "{wrong}");
    assert_eq!(wrong["range"]["start"], position(AXIS, "t_delya", 0));
    assert_eq!(wrong["range"]["end"], position(AXIS, "t_delya", 7));
    let asked = json!({ "textDocument": { "uri": axis }, "range": wrong["range"], "context": { "diagnostics": [] } });
    let fixes = client.ask("textDocument/codeAction", asked);
    assert_eq!(fixes.as_array().unwrap().len(), 1, "{fixes}");
    assert_eq!(fixes[0]["title"], "write `t_delay`");
    let mended = changed(AXIS, &fixes[0]["edit"]["changes"][&axis]);
    assert_eq!(mended, AXIS.replace("t_delya", "t_delay"));
    assert_eq!(client.change(&axis, 2, &mended), Vec::<Value>::new());

    // kind, unit, nominal value: 2 · 157.0796 / 4 + 0.1 = 78.64 s
    let hover = client.at("textDocument/hover", &axis, &mended, "t = coast", 0);
    let text = hover["contents"]["value"].as_str().unwrap();
    assert!(text.contains("a time in s") && text.contains("78.6398"), "{text}");
    let hover = client.at("textDocument/hover", &axis, &mended, "t_stop", 2);
    let text = hover["contents"]["value"].as_str().unwrap();
    assert!(text.contains("by friction") && text.contains("78.5398"), "{text}");

    let labels = |found: Value| -> Vec<String> {
        found
            .as_array()
            .unwrap()
            .iter()
            .map(|it| it["label"].as_str().unwrap().to_owned())
            .collect()
    };
    let found = labels(client.at("textDocument/completion", &axis, &mended, "coast.t_stop", 6));
    assert_eq!(found, ["t_stop"]);
    let found = labels(client.at("textDocument/completion", &axis, &mended, "saw with", 0));
    assert!(found.contains(&"saw".to_owned()) && found.contains(&"run-down".to_owned()));
    let found = labels(client.at("textDocument/completion", &axis, &mended, "ms\n", 0));
    assert!(found.contains(&"ms".to_owned()));

    let tidy = mended.replace("t = coast", "t=coast");
    client.change(&axis, 3, &tidy);
    let options = json!({ "tabSize": 2, "insertSpaces": true });
    let edits = client.ask(
        "textDocument/formatting",
        json!({ "textDocument": { "uri": axis }, "options": options }),
    );
    assert_eq!(changed(&tidy, &edits), mended);
    // lines stay ended as they are
    client.change(&axis, 3, &tidy.replace('\n', "\r\n"));
    let asked = json!({ "textDocument": { "uri": axis }, "options": options });
    let edits = client.ask("textDocument/formatting", asked.clone());
    assert_eq!(
        edits[0]["newText"].as_str().map(|it| it.matches("\r\n").count()),
        Some(1),
        "{edits}"
    );
    client.change(&axis, 3, &mended.replace('\n', "\r\n"));
    assert_eq!(client.ask("textDocument/formatting", asked), json!([]));

    let position = position(&mended, "J : ", 0);
    let asked =
        json!({ "textDocument": { "uri": axis }, "position": position, "newName": "J_rotor" });
    client.change(&axis, 4, &mended);
    let edits = client.ask("textDocument/rename", asked.clone());
    let renamed = changed(&mended, &edits["changes"][&axis]);
    assert_eq!(
        renamed,
        mended.replace("with J,", "with J = J_rotor,").replace("  J : ", "  J_rotor : ")
    );
    assert_eq!(client.change(&axis, 5, &renamed), Vec::<Value>::new());
    let mut taken = asked;
    taken["newName"] = json!("t");
    let refused = client.ask_for("textDocument/rename", taken);
    assert!(refused["error"]["message"].as_str().unwrap().contains("`t` is in use"), "{refused}");
    client.end();
}

#[test]
fn what_is_used_is_found_in_its_file_and_followed_while_it_is_typed() {
    let folder = tempfile::tempdir().unwrap();
    let (axis, saw) = files(folder.path());
    let good = AXIS.replace("t_delya", "t_delay");
    let mut client = Client::start(folder.path());
    assert_eq!(client.open(&axis, &good), Vec::<Value>::new());
    let text = fs::read_to_string(folder.path().join("own axes/saw.sheet")).unwrap();
    for (part, further, target) in
        [("coast.t_stop", 6, "t_stop = "), ("saw with", 1, "saw"), ("n_0 = n", 0, "n_0 : ")]
    {
        let place = client.at("textDocument/definition", &axis, &good, part, further);
        assert_eq!(place["uri"], saw, "{part}");
        assert_eq!(place["range"]["start"], position(&text, target, 0), "{part}");
    }
    // a mistake that is made in the used sheet, and not saved, is shown where it is used
    client.open(&saw, &text);
    let wrong = text.replace("n_0 / T", "n_0 / T_2");
    // the problems of both come in the order of their addresses
    let document = json!({ "uri": saw, "version": 2 });
    client.tell(
        "textDocument/didChange",
        json!({ "textDocument": document, "contentChanges": [{ "text": wrong }] }),
    );
    let seen = client.problems(&axis, 1);
    assert!(
        seen[0]["message"].as_str().unwrap().contains("saw.sheet`: nothing is called `T_2`"),
        "{seen:?}"
    );
    assert_eq!(seen[0]["range"]["start"], position(&good, "saw with", 0));
    assert_eq!(seen[0]["relatedInformation"][0]["location"]["uri"], saw);
    let own = client.problems(&saw, 2);
    assert!(own.iter().any(|it| it["code"] == "unknown-name"), "{own:?}");
    client.end();
}

/// An input keeps one name in the sheets that use it, the cases beside it and the defaults of its project: with all
/// the changes made, every sheet is right and gives what it gave.
#[test]
fn a_name_is_changed_in_every_file_that_knows_it() {
    let folder = tempfile::tempdir().unwrap();
    let (axis, saw) = files(folder.path());
    let own = folder.path().join("own axes");
    fs::write(own.join("axis.sheet"), AXIS.replace("t_delya", "t_delay")).unwrap();
    let cases = "sheet saw\nsource \"by hand\"\ncase slow\n  n_0 = 15 r/min # slow\n  gives t_stop = 0.7854 s within 0.01 %\n";
    fs::write(own.join("saw.cases"), cases).unwrap();
    fs::write(own.join("standstill.toml"), "[defaults.saw]\nJ = \"2 kg·m²\"\n").unwrap();
    let figures = |folder: &Path| {
        assert_eq!(super::standstill(folder, &["prove", "."]).status.code(), Some(0));
        super::output_text(&super::standstill(folder, &["run", "axis", "--example", "--json"]))
    };
    let before = figures(&own);
    let t =
        |text: &str| text.split("\"number\":").nth(1).unwrap().chars().take(12).collect::<String>();
    let mut client = Client::start(&own);
    client.open(&saw, SAW);
    for (part, old, new) in
        [("J : ", "J", "J_blade"), ("n_0 : ", "n_0", "n_top"), ("t_stop = ", "t_stop", "t_end")]
    {
        let text = fs::read_to_string(own.join("saw.sheet")).unwrap();
        let position = position(&text, part, 0);
        let asked = json!({ "textDocument": { "uri": saw }, "position": position, "newName": new });
        let edits = client.ask("textDocument/rename", asked);
        for (uri, edits) in edits["changes"].as_object().unwrap() {
            let name = uri.rsplit_once('/').unwrap().1;
            let file = own.join(name);
            fs::write(&file, changed(&fs::read_to_string(&file).unwrap(), edits)).unwrap();
        }
        assert!(edits["changes"][&axis].is_array(), "{old}: {edits}");
        let text = fs::read_to_string(own.join("saw.sheet")).unwrap();
        client.change(&saw, 2, &text);
        assert_eq!(t(&figures(&own)), t(&before), "{old}");
    }
    let text = fs::read_to_string(own.join("saw.cases")).unwrap();
    assert_eq!(text, cases.replace("n_0", "n_top").replace("t_stop", "t_end"));
    let settings = fs::read_to_string(own.join("standstill.toml")).unwrap();
    assert_eq!(settings, "[defaults.saw]\nJ_blade = \"2 kg·m²\"\n");
    // what is set for every sheet is not this sheet's to change
    fs::write(own.join("standstill.toml"), "[defaults]\nn_top = \"1500 r/min\"\n").unwrap();
    let text = fs::read_to_string(own.join("saw.sheet")).unwrap();
    let position = position(&text, "n_top : ", 0);
    let asked = json!({ "textDocument": { "uri": saw }, "position": position, "newName": "n_0" });
    let refused = client.ask_for("textDocument/rename", asked);
    let words = refused["error"]["message"].as_str().unwrap();
    assert!(words.contains("move it below `[defaults.saw]` first"), "{words}");
    client.end();
}

#[test]
fn a_sheet_of_the_library_opens_as_a_file_and_junk_is_answered() {
    let folder = tempfile::tempdir().unwrap();
    let uri = "untitled:Untitled-1";
    let text = "sheet s\ntitle \"t\"\nsource \"x\"\n\nuses\n  stop = run-down with J, n_0, T_0\n\ntakes\n  J : inertia like 1 kg·m²\n";
    let mut client = Client::start(folder.path());
    client.open(uri, text);
    let place = client.at("textDocument/definition", uri, text, "run-down", 3);
    let path = place["uri"].as_str().unwrap().strip_prefix("file://").unwrap().to_owned();
    assert!(path.ends_with("/library/run-down.sheet"), "{path}");
    let written = fs::read_to_string(&path).unwrap();
    assert!(written.starts_with("sheet run-down\n"));
    assert_eq!(client.open(&format!("file://{path}"), &written), Vec::<Value>::new());

    for (method, params) in [
        ("textDocument/hover", json!({})),
        (
            "textDocument/hover",
            json!({ "textDocument": { "uri": "file:///nowhere" }, "position": { "line": 0, "character": 0 } }),
        ),
        ("textDocument/none", json!(null)),
    ] {
        let answer = client.ask_for(method, params);
        assert!(answer["error"]["code"].is_i64(), "{answer}");
    }
    let far = json!({ "textDocument": { "uri": uri }, "position": { "line": 4_000_000_000_u32, "character": 4_000_000_000_u32 } });
    for method in [
        "textDocument/hover", "textDocument/completion", "textDocument/definition",
        "textDocument/prepareRename",
    ] {
        client.ask(method, far.clone());
    }
    client.tell("textDocument/didChange", json!({ "nonsense": true }));
    for odd in [
        "", "\u{feff}sheet s\r\n", "#", "\"", "uses\n  a = ", "takes\n  a : ",
        "works\n\t\tµ = (((", "gives\n in",
    ] {
        client.change(uri, 2, odd);
        for method in ["textDocument/hover", "textDocument/completion"] {
            for (line, column) in [(0, 0), (1, 7), (1, 3)] {
                let at = json!({ "textDocument": { "uri": uri }, "position": { "line": line, "character": column } });
                client.ask(method, at);
            }
        }
    }
    client.end();
}

#[test]
fn an_editor_that_goes_without_a_word_ends_it() {
    let folder = tempfile::tempdir().unwrap();
    let mut client = Client::start(folder.path());
    drop(client.to);
    assert_eq!(client.child.wait().unwrap().code(), Some(1));
    let grammar = super::standstill(folder.path(), &["editor", "--grammar"]);
    let grammar: Value = serde_json::from_slice(&grammar.stdout).unwrap();
    assert_eq!(grammar["scopeName"], "source.standstill");
}
