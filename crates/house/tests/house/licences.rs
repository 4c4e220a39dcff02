//! Everything that is built in has a licence and a source that deny.toml allows.

use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

struct Allowed {
    licences: Vec<String>,
    registries: Vec<String>,
}

fn allowed() -> Allowed {
    let deny: toml::Table = std::fs::read_to_string(root().join("deny.toml")).unwrap().parse().unwrap();
    let words = |section: &str, key: &str| deny[section][key].as_array().unwrap().iter().map(|w| w.as_str().unwrap().to_owned()).collect();
    Allowed { licences: words("licenses", "allow"), registries: words("sources", "allow-registry") }
}

/// Packages built on this platform, those of the workspace left out.
fn packages() -> Vec<serde_json::Value> {
    let run = |program: String, arguments: &[&str]| {
        let output = Command::new(program).args(arguments).current_dir(root()).output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    };
    let version = run(std::env::var("RUSTC").unwrap_or_else(|_| "rustc".to_owned()), &["-vV"]);
    let host = version.lines().find_map(|l| l.strip_prefix("host: ")).unwrap();
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned());
    let metadata = run(cargo, &["metadata", "--format-version", "1", "--locked", "--filter-platform", host]);
    let metadata: serde_json::Value = serde_json::from_str(&metadata).unwrap();
    metadata["packages"].as_array().unwrap().iter().filter(|p| !p["source"].is_null()).cloned().collect()
}

/// Whether a licence expression can be met with these licences: any of what OR joins, all of what AND joins.
fn can_be_met(expression: &str, licences: &[String]) -> bool {
    let outer = expression.trim();
    if let Some((left, right)) = split_outside_brackets(outer, " AND ") {
        return can_be_met(left, licences) && can_be_met(right, licences);
    }
    for or in [" OR ", " / ", "/"] {
        if let Some((left, right)) = split_outside_brackets(outer, or) {
            return can_be_met(left, licences) || can_be_met(right, licences);
        }
    }
    match outer.strip_prefix('(').and_then(|o| o.strip_suffix(')')) {
        Some(inner) => can_be_met(inner, licences),
        None => licences.iter().any(|l| l == outer),
    }
}

fn split_outside_brackets<'a>(expression: &'a str, at: &str) -> Option<(&'a str, &'a str)> {
    let outside = |i: &usize| expression[..*i].matches('(').count() == expression[..*i].matches(')').count();
    let (i, _) = expression.match_indices(at).find(|(i, _)| outside(i))?;
    Some((&expression[..i], &expression[i + at.len()..]))
}

#[test]
fn every_crate_that_is_built_in_has_a_licence_that_is_allowed() {
    let Allowed { licences, .. } = allowed();
    let refused: Vec<String> = packages()
        .iter()
        .filter(|p| !can_be_met(p["license"].as_str().unwrap_or_default(), &licences))
        .map(|p| format!("{} {}: {}", p["name"], p["version"], p["license"]))
        .collect();
    assert!(refused.is_empty(), "licences that deny.toml does not allow: {refused:#?}");
}

#[test]
fn every_crate_comes_from_a_registry_that_is_allowed() {
    let Allowed { registries, .. } = allowed();
    let allowed = |source: &str| registries.iter().any(|r| source == format!("registry+{r}"));
    let refused: Vec<String> = packages()
        .iter()
        .filter(|p| !allowed(p["source"].as_str().unwrap_or_default()))
        .map(|p| format!("{}: {}", p["name"], p["source"]))
        .collect();
    assert!(refused.is_empty(), "sources that deny.toml does not allow: {refused:#?}");
}

#[test]
fn licence_expressions_are_read_as_their_standard_has_them() {
    let licences = ["MIT".to_owned(), "Unicode-3.0".to_owned()];
    for met in ["MIT", "MIT OR GPL-3.0", "GPL-3.0/MIT", "(GPL-3.0 OR MIT) AND Unicode-3.0"] {
        assert!(can_be_met(met, &licences), "{met}");
    }
    for unmet in ["", "GPL-3.0", "MIT AND GPL-3.0", "(GPL-3.0 OR MIT) AND GPL-3.0", "Apache-2.0 WITH LLVM-exception"] {
        assert!(!can_be_met(unmet, &licences), "{unmet}");
    }
}
