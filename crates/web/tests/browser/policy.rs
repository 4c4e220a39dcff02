//! What a page may not do, whatever came into it: asserted where it is enforced. Texts that would run are refused as such (Trusted Types) before their source is asked for.

use serde_json::{Value, json};

use crate::bay::{Bay, in_bay};
use crate::car;
use crate::people::{OWNERS_PIN, enters};

/// Tries things as if a page's content had brought them along, and says which the browser let happen.
const TRIES: &str = r#"
const done = arguments[0];
const happened = [];
const refused = [];
addEventListener("securitypolicyviolation", (violation) => refused.push(violation.effectiveDirective));
window.ran = () => happened.push("a script in the page");
const element = (name, fields) => document.body.appendChild(Object.assign(document.createElement(name), fields));
const tried = async (what, deed) => { try { await deed(); happened.push(what); } catch { /* as it should be */ } };
// Later: what the driver runs itself is let off by the browser.
setTimeout(async () => {
    await tried("text made into a page", () => { document.body.insertAdjacentHTML("beforeend", "<img src=x onerror='ran()'>"); });
    await tried("a policy of somebody else", () => trustedTypes.createPolicy("other", { createHTML: (text) => text }));
    await tried("text run as a script", () => { eval("1"); });
    await tried("text run later", () => new Function("return 1")());
    await tried("asking elsewhere", () => fetch("http://elsewhere.example/"));
    await tried("a handler in an attribute", () => { const image = element("img", { src: "/nothing.png" }); image.setAttribute("onerror", "ran()"); if (image.onerror) throw new Error("set"); throw new Error("not run"); });
    // Whether these came to something is told below.
    const put = (name, fields) => { try { return element(name, fields); } catch { return null; } };
    put("iframe", { src: "/device" });
    put("object", { data: "/device", type: "text/html" });
    put("base", { href: "http://elsewhere.example/" });
    put("form", { action: "http://elsewhere.example/", method: "get" })?.submit();
    if (document.cookie.includes("known") || document.cookie.includes("who")) happened.push("a cookie that a script reads");
    setTimeout(() => done({ happened, refused: [...new Set(refused)].sort(), base: document.baseURI === location.href }), 1500);
}, 0);
"#;

#[test]
fn a_page_runs_no_script_but_the_apps_asks_nobody_else_and_stands_in_no_frame() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let device = bay.device().await;
        enters(&device, &bay.code(), Some("M."), OWNERS_PIN, "office laptop", false).await;
        device.open(&format!("/jobs/{}", car::job())).await;
        let told = device.runs_to_its_end(TRIES).await;
        assert_eq!(told["happened"], json!([]), "{told}");
        assert_eq!(told["base"], json!(true));
        let refused: Vec<&str> = told["refused"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
        for directive in ["base-uri", "connect-src", "form-action", "frame-src", "require-trusted-types-for", "trusted-types"] {
            assert!(refused.iter().any(|found| found.starts_with(directive)), "{directive}: {refused:?}");
        }
        let cookie = device.cookie("known").await;
        assert_eq!([&cookie["httpOnly"], &cookie["sameSite"], &cookie["path"]], [&json!(true), &json!("Strict"), &json!("/")]);
        device.leaves().await;
    });
}
