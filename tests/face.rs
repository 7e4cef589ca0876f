//! The public face of the crate, kept as a text: who changes what others build on sees it in the difference.

use std::fs;
use std::path::{Path, PathBuf};

use quote::ToTokens;
use syn::{Fields, ImplItem, Item, UseTree, Visibility};

/// The rust files of `src`, in order.
fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
    found.sort();
    found
}

fn names(tree: &UseTree, found: &mut Vec<String>) {
    match tree {
        UseTree::Path(path) => names(&path.tree, found),
        UseTree::Group(group) => group.items.iter().for_each(|tree| names(tree, found)),
        UseTree::Name(name) => found.push(name.ident.to_string()),
        UseTree::Rename(_) | UseTree::Glob(_) => panic!("the face names each thing by its name"),
    }
}

fn is_hidden(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|one| line(&one.meta).replace(' ', "") == "doc(hidden)")
}

/// What `src/lib.rs` offers at its root by `pub use`; of its modules only `unstable` is not hidden.
fn offered() -> Vec<String> {
    let root = syn::parse_file(include_str!("../src/lib.rs")).unwrap();
    let mut found = Vec::new();
    for item in &root.items {
        if let Item::Use(used) = item
            && matches!(used.vis, Visibility::Public(_))
        {
            names(&used.tree, &mut found);
        }
        if let Item::Mod(module) = item
            && is_public(&module.vis)
            && !is_hidden(&module.attrs)
        {
            assert_eq!(module.ident, "unstable", "a module that is part of the face");
        }
    }
    found.sort();
    found
}

fn is_public(visibility: &Visibility) -> bool {
    matches!(visibility, Visibility::Public(_))
}

/// Tokens as one line, as one would write them.
fn line(tokens: impl ToTokens) -> String {
    let mut text = tokens.to_token_stream().to_string();
    for (spaced, written) in [
        (" :: ", "::"),
        (" < ", "<"),
        ("< ", "<"),
        (" >", ">"),
        (" ,", ","),
        (" :", ":"),
        (" (", "("),
        ("( ", "("),
        (" )", ")"),
        ("& ", "&"),
        (" [", "["),
        ("[ ", "["),
        (" ]", "]"),
        ("mut [", "mut ["),
        (" ;", ";"),
    ] {
        text = text.replace(spaced, written);
    }
    text
}

/// The traits that are derived, as they stand.
fn derived(attributes: &[syn::Attribute]) -> String {
    let lists = attributes.iter().filter(|one| one.path().is_ident("derive"));
    lists.map(|one| format!(" {}", line(&one.meta))).collect()
}

/// The public part of a type: its fields or variants, then its functions, then the traits written out for it.
fn part(name: &str, files: &[(PathBuf, syn::File)]) -> String {
    let mut out = String::new();
    for (_, file) in files {
        for item in &file.items {
            match item {
                Item::Struct(one) if one.ident == name && is_public(&one.vis) => {
                    let marked = one.attrs.iter().any(|a| a.path().is_ident("non_exhaustive"));
                    let mark = if marked { " (may grow)" } else { "" };
                    let mark = format!("{mark}{}", derived(&one.attrs));
                    out += &format!("struct {name}{}{mark}\n", line(&one.generics));
                    if let Fields::Named(fields) = &one.fields {
                        for field in fields.named.iter().filter(|field| is_public(&field.vis)) {
                            out += &format!("  {}: {}\n", line(&field.ident), line(&field.ty));
                        }
                    }
                }
                Item::Enum(one) if one.ident == name && is_public(&one.vis) => {
                    let marked = one.attrs.iter().any(|a| a.path().is_ident("non_exhaustive"));
                    let mark = if marked { " (may grow)" } else { "" };
                    let mark = format!("{mark}{}", derived(&one.attrs));
                    out += &format!("enum {name}{mark}\n");
                    for variant in &one.variants {
                        out += &format!("  {}{}\n", variant.ident, line(&variant.fields));
                    }
                }
                _ => {}
            }
        }
    }
    for (_, file) in files {
        for item in &file.items {
            let Item::Impl(block) = item else { continue };
            let syn::Type::Path(of) = block.self_ty.as_ref() else { continue };
            if of.path.segments.last().is_none_or(|last| last.ident != name) {
                continue;
            }
            if let Some((path, _)) = &block.trait_ {
                out += &format!("  impl {}\n", line(path));
                continue;
            }
            for inner in &block.items {
                if let ImplItem::Fn(function) = inner
                    && is_public(&function.vis)
                {
                    out += &format!("  {}\n", line(&function.sig));
                }
            }
        }
    }
    out
}

#[test]
fn the_public_face_changes_only_on_purpose() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let read = |path: PathBuf| {
        let file = syn::parse_file(&fs::read_to_string(&path).unwrap()).unwrap();
        (path, file)
    };
    // only where the face may lie: another folder can have a type of the same name
    let folders = ["calculation", "diagnostic", "unit"];
    let files: Vec<_> = folders.iter().flat_map(|one| sources(&root.join(one))).map(read).collect();
    let parts = offered().into_iter().filter(|name| name != "uom").map(|name| {
        let part = part(&name, &files);
        assert!(!part.is_empty(), "`{name}` is offered and not found");
        part
    });
    let face = parts.collect::<Vec<_>>().join("\n");
    insta::assert_snapshot!("face", face);
}
