//! What is round every page.

use axum::response::Html;
use lastmicron_job::event::Id;
use lastmicron_units::Unit;
use maud::{DOCTYPE, Markup, html};
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};

use crate::asset::{ALONG, APP, HOME_ICON, ICON, STYLE};
use crate::preference::{Preferences, Theme};
use crate::reach::Way;

/// A part of a job that has a page of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    /// Where it stands, and what is next.
    Overview,
    /// Readings of the film.
    Survey,
    /// Test spots.
    Spots,
    /// The plan.
    Plan,
    /// The work.
    Work,
    /// What goes home with the vehicle.
    HandOver,
}

impl Part {
    /// In the order of a visit, with the end of the path and the name.
    pub(crate) const ALL: [(Self, &str, &str); 6] = [
        (Self::Overview, "", "Job"),
        (Self::Survey, "/survey", "Survey"),
        (Self::Spots, "/spots", "Test spot"),
        (Self::Plan, "/plan", "Plan"),
        (Self::Work, "/work", "Work"),
        (Self::HandOver, "/handover", "Hand over"),
    ];
}

/// The job that a page belongs to.
#[derive(Clone, Copy, Debug)]
pub(crate) struct OfJob {
    /// The job.
    pub(crate) id: Id,
    /// The part of it.
    pub(crate) part: Part,
}

/// A page.
#[derive(Debug)]
pub(crate) struct Page<'a> {
    /// What the device remembers.
    pub(crate) preferences: &'a Preferences,
    /// Its title.
    pub(crate) title: &'a str,
    /// The job that it belongs to, if to one: then it is told of what others do there.
    pub(crate) job: Option<OfJob>,
    /// A script that only this page needs, by its address.
    pub(crate) script: Option<String>,
}

impl Page<'_> {
    /// The page with its content.
    pub(crate) fn with(&self, body: &Markup) -> Html<String> {
        let theme = self.preferences.theme;
        let schemes = match theme {
            Theme::Device => "light dark",
            Theme::Bright => "light",
            Theme::Dark => "dark",
        };
        let whole = html! {
            (DOCTYPE)
            html lang="en" data-theme=(theme.word()) {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="color-scheme" content=(schemes);
                    // Browsers say no origin with a form of a page that refers nobody, by which a form of another site could not be told from it on plain http.
                    meta name="referrer" content="same-origin";
                    title { (self.title) " · lastmicron" }
                    link rel="icon" type="image/svg+xml" href=(ICON.path());
                    link rel="apple-touch-icon" href=(HOME_ICON.path());
                    link rel="manifest" href="/manifest.webmanifest";
                    link rel="stylesheet" href=(STYLE.path());
                    script type="module" src=(APP.path()) {}
                    script type="module" src=(ALONG.path()) {}
                    @if let Some(script) = &self.script { script type="module" src=(script) {} }
                }
                body data-who=(self.preferences.who) data-known[self.preferences.is_known] data-job=[self.job.map(|job| job.id.to_string())] {
                    a.skip href="#main" { "To the content" }
                    @if self.preferences.way == Way::Plain { (in_the_open()) }
                    (self.head())
                    @if let Some(banner) = &self.preferences.banner { p.banner role="alert" { (banner.0) } }
                    @if let Some(job) = self.job { (steps(job)) }
                    main id="main" tabindex="-1" {
                        noscript { p.stop { "This page needs its scripts to record anything: allow scripts for this address." } }
                        (body)
                    }
                    div.line id="line" role="status" {}
                    div.notices {
                        div.said id="said" role="status" {}
                        div.refused id="refused" role="alert" {}
                        div.standing role="status" { p id="stood" {} a id="outbox" href="/waiting" hidden {} }
                    }
                    (who(self.preferences))
                }
            }
        };
        Html(whole.into_string())
    }

    fn head(&self) -> Markup {
        let Preferences { who, unit, theme, path, .. } = self.preferences;
        let other = Unit::ALL.into_iter().cycle().skip_while(|one| one != unit).nth(1).unwrap_or(Unit::Micrometre);
        let (other_theme, to) = if *theme == Theme::Dark { (Theme::Bright, "Bright") } else { (Theme::Dark, "Dark") };
        html! {
            header.head {
                a.home href="/" { "lastmicron" }
                form method="post" action="/device" {
                    input type="hidden" name="back" value=(path);
                    button name="unit" value=(other.symbol()) aria-label={ "Films are shown in " (unit.symbol()) ": show them in " (other.symbol()) } { (unit.symbol()) }
                    button name="theme" value=(other_theme.word()) { (to) }
                    a.button id="here" href={ "/device?back=" (utf8_percent_encode(path, NON_ALPHANUMERIC)) } { @if who.is_empty() { "Who?" } @else { (who) } }
                }
            }
        }
    }
}

fn steps(job: OfJob) -> Markup {
    html! {
        nav.steps aria-label="This job" {
            @for (part, end, name) in Part::ALL {
                a href={ "/jobs/" (job.id) (end) } aria-current=[(part == job.part).then_some("page")] { (name) }
            }
        }
    }
}

/// What there is not without TLS: said on every page that came without, for whoever looks at it did not choose that.
pub(crate) fn in_the_open() -> Markup {
    html! {
        aside.in-the-open aria-label="This connection" {
            strong { "Not protected." }
            " Anybody on this network can read what is sent from here and shown here, passwords included. The app can't be installed on this device, and doesn't open when the network is away. To end that, run "
            code { "lastmicron setup" }
            " on the machine that keeps the records."
        }
    }
}

/// Asked once on a device, before the first thing is recorded from it.
fn who(preferences: &Preferences) -> Markup {
    html! {
        dialog.who id="who" aria-labelledby="who-asked" {
            form method="dialog" {
                h2 id="who-asked" { "Who is at this device?" }
                p { "What is recorded from here is recorded under this name or these initials." }
                label.field for="who-name" { "Name or initials" }
                input id="who-name" name="who" required maxlength="60" autocomplete="off" value=(preferences.who);
                div.row {
                    button.primary value="said" { "Go on" }
                    button.second value="" formnovalidate { "Not now" }
                }
            }
        }
    }
}
