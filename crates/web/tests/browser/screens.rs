//! Every screen, held to what is promised of all.

use crate::bay::{Bay, Device, in_bay};
use crate::car;

/// Name and path of every screen; a `{job}` in it is the invented coupe.
const SCREENS: [(&str, &str); 25] = [
    ("jobs", "/"),
    ("device", "/device"),
    ("waiting", "/waiting"),
    ("new", "/new"),
    ("new-body", "/new/roadster"),
    ("not-found", "/nowhere"),
    ("job", "/jobs/{job}"),
    ("vehicle", "/jobs/{job}/vehicle"),
    ("panels", "/jobs/{job}/panels"),
    ("terms", "/jobs/{job}/terms"),
    ("workshop", "/jobs/{job}/workshop"),
    ("history", "/jobs/{job}/history"),
    ("gauge", "/jobs/{job}/gauge"),
    ("survey", "/jobs/{job}/survey"),
    ("survey-panel", "/jobs/{job}/survey/bonnet"),
    ("spots", "/jobs/{job}/spots"),
    ("plan", "/jobs/{job}/plan"),
    ("plan-turned", "/jobs/{job}/plan?correction=0.6"),
    ("plan-panel", "/jobs/{job}/plan/bonnet"),
    ("work", "/jobs/{job}/work"),
    ("csv", "/jobs/{job}/readings"),
    ("handover", "/jobs/{job}/handover"),
    ("handover-panel", "/jobs/{job}/handover/bonnet"),
    ("verify", "/verify"),
    ("work-begun", "/jobs/{job}/work"),
];

/// Most bytes of a page, as it is sent.
const MOST_BYTES: f64 = 200_000.0;

/// What is too small to be met with a glove, or sticks out of a narrow screen.
const SMALL: &str = "
    const small = [];
    for (const one of document.querySelectorAll('button, a, summary, select, input:not([type=hidden]), textarea')) {
        if (!one.checkVisibility() || one.closest('p, li, dd, dt, .skip')?.innerText.length > one.innerText.length + 12 || one.matches('.skip, .choice input')) continue;
        const box = (one.closest('.choice') ?? one).getBoundingClientRect();
        const least = one.matches('.primary, .key') ? 56 : 44;
        if (box.height < least - 0.5 || box.width < 44 - 0.5) small.push(`${one.outerHTML.slice(0, 120)}: ${box.width} by ${box.height}`);
    }
    if (document.scrollingElement.scrollWidth > document.documentElement.clientWidth) small.push(`as wide as ${document.scrollingElement.scrollWidth} px on ${document.documentElement.clientWidth}`);
    return small;
";

#[test]
fn every_screen_is_fit_for_gloves_for_keys_and_for_ears_bright_and_dark() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let device = bay.device().await;
        let mut wrong = Vec::new();
        for (name, path) in SCREENS {
            let path = path.replace("{job}", &car::job().to_string());
            if name == "work-begun" {
                begun(&device, &path).await;
            }
            for theme in ["bright", "dark"] {
                device.is_wide(320).await;
                device.open_as("M.", theme, &path).await;
                wrong.extend(looked_at(&device, &format!("{name}, {theme}")).await);
                for width in [360, 820, 1440] {
                    device.is_wide(width).await;
                    device.pictured(&format!("{name}-{width}-{theme}")).await;
                }
            }
            let bytes = device.runs("return performance.getEntriesByType('navigation')[0].decodedBodySize").await;
            if bytes.as_f64().unwrap() > MOST_BYTES {
                wrong.push(format!("{name}: {bytes} bytes"));
            }
        }
        device.leaves().await;
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    });
}

#[test]
fn what_is_demanded_of_screens_is_missed_where_it_is_missing() {
    in_bay(async |bay: &Bay| {
        let device = bay.device().await;
        device.is_wide(320).await;
        device.open_as("M.", "bright", "/").await;
        assert_eq!(looked_at(&device, "untouched").await, Vec::<String>::new());
        device
            .runs(
                "const small = document.createElement('button'); small.style.cssText = 'min-height: 0; height: 20px; width: 60px'; small.textContent = 'x';
                 const wide = document.createElement('div'); wide.style.width = '900px'; wide.textContent = 'wide';
                 const picture = document.createElement('img'); picture.src = 'data:,';
                 document.querySelector('main').append(small, wide, picture);
                 fetch('http://elsewhere.example/').catch(() => {});",
            )
            .await;
        let found = looked_at(&device, "spoilt").await.join("\n");
        for wanted in ["60 by ", "px on 320", "Content Security Policy"] {
            assert!(found.contains(wanted), "{wanted} in {found}");
        }
        // Where axe is not there, it was said.
        assert!(device.breaches().await.is_none_or(|breaches| breaches.contains_key("image-alt")), "{found}");
        device.leaves().await;
    });
}

/// Accepts the plan and starts its first section.
async fn begun(device: &Device, work: &str) {
    device.open(&work.replace("/work", "/plan")).await;
    device.presses("Accept this plan").await;
    device.shows("Accept it as it is now").await;
    device.open(work).await;
    device.presses("Start this section").await;
    device.shows("You are on it").await;
}

/// Holds a page as it is now to the same, and keeps pictures of it.
pub(crate) async fn holds(device: &Device, name: &str) {
    device.waits_for("!document.querySelector('[data-fresh]')").await;
    device.is_wide(320).await;
    assert_eq!(looked_at(device, name).await, Vec::<String>::new());
    device.is_wide(360).await;
    device.pictured(&format!("{name}-360")).await;
}

async fn looked_at(device: &Device, name: &str) -> Vec<String> {
    let small = device.runs(SMALL).await;
    let small = small.as_array().unwrap().iter().map(|one| format!("{name}: {}", one.as_str().unwrap_or_default()));
    let breaches = device.breaches().await.unwrap_or_default().into_iter().map(|(rule, where_)| format!("{name}: {rule}: {where_}"));
    let complaints = device.complaints().await.into_iter().filter(|said| !said.contains("/nowhere ")).map(|said| format!("{name}: {said}"));
    small.chain(breaches).chain(complaints).collect()
}
