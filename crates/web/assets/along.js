// Has this device keep the app's pages, so that it starts and goes on where nobody answers. Only where the browser allows it: on this machine, or by https.

import { all, onChange } from "/assets/outbox.js";
import { UNASKED } from "/assets/lock.js";
import { WORKER, parsed } from "/assets/trusted.js";

// After how long a job's pages are fetched to be taken along, and for how long that is enough, ms: whoever looks at a page waits for no other.
const LATER = 3000;
const ENOUGH = 600000;
// Most pages of one job. Judgement: a vehicle has some thirty panels.
const MOST = 80;

const { job } = document.body.dataset;

async function page(address) {
    const answer = await fetch(address, { headers: { accept: "text/html", ...UNASKED } });
    return parsed(await answer.text());
}

function links(of, start) {
    return Array.from(of.querySelectorAll(`a[href^="${CSS.escape(start)}"]`), (link) => link.getAttribute("href"));
}

const along = `along-${job}`;

// What was cut short is begun anew with the next page.
function forgetAlong() {
    try { sessionStorage.removeItem(along); } catch { /* then it is fetched each time */ }
}

// One after the other: a phone on weak Wi-Fi has other things to do.
async function takeAlong() {
    try {
        if (Date.now() - Number(sessionStorage.getItem(along) ?? 0) < ENOUGH) return;
        sessionStorage.setItem(along, Date.now());
    } catch { /* then it is fetched each time */ }
    const at = `/jobs/${job}`;
    const survey = await page(`${at}/survey`);
    const work = await page(`${at}/work`);
    const more = new Set([at, `${at}/spots`, `${at}/plan`, `${at}/gauge`, ...links(survey, `${at}/survey/`), ...links(work, `${at}/work?`)]);
    for (const address of Array.from(more).slice(0, MOST)) await page(address);
    document.documentElement.dataset.along = "yes";
}

// A newer worker waits until nothing does that was recorded under the older one.
async function takeOver(registration) {
    if (!registration.waiting) return;
    const { rows, photographs } = await all().catch(() => ({ rows: [], photographs: [] }));
    // The first one waits for nobody, and may have begun meanwhile.
    if (rows.length + photographs.length === 0) registration.waiting?.postMessage("take over");
}

// A page that was on its way while its worker began is not the worker's until it asks.
async function taken() {
    const changed = new Promise((done) => { navigator.serviceWorker.addEventListener("controllerchange", done, { once: true }); });
    const { active } = await navigator.serviceWorker.ready;
    if (navigator.serviceWorker.controller) return;
    active.postMessage("take this page");
    await changed;
}

async function start() {
    const registration = await navigator.serviceWorker.register(WORKER);
    const look = () => { takeOver(registration); };
    registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", look));
    onChange(look);
    look();
    const isFirst = navigator.serviceWorker.controller === null;
    if (isFirst) await taken();
    // What was loaded before there was a worker is kept from now on.
    if (isFirst) await page(location.href);
    if (job && document.body.dataset.kept === undefined) setTimeout(() => { takeAlong().catch(() => { forgetAlong(); }); }, LATER);
}

if (globalThis.isSecureContext && navigator.serviceWorker) start().catch(() => {});
