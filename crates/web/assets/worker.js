// Keeps the app's files and the pages that were seen, and shows them where nobody answers. It never answers what is sent, nor a line of changes.

const ASSETS = /*assets*/[];
const PAGES = /*pages*/[];
const FILES = "files";
const SEEN = "pages";

// How long a page is waited for before the one that was kept is shown, ms: at first, and for a minute after nobody answered.
const PATIENCE = 10000;
const PATIENCE_AWAY = 2000;
const REMEMBERED = 60000;
let awayAt = 0;
// Most pages that are kept. Judgement: ten jobs of thirty panels, some 20 MB.
const MOST = 400;

// The page's own header tells it from a gateway's, which comes with 200, too.
const isOurs = (answer) => answer.headers.get("x-lastmicron") !== null;
// What a device may be asked for at the door, and codes and links, are nothing to be found on it later.
const isOfTheDoor = (address) => ["/enter", "/lock", "/look", "/people"].some((start) => new URL(address).pathname.startsWith(start));
const isPage = (answer) => answer.ok && isOurs(answer) && !isOfTheDoor(answer.url) && (answer.headers.get("content-type") ?? "").startsWith("text/html");

// The address under which a page is kept: where a probe is held makes it no other page.
function key(address) {
    const at = new URL(address);
    at.hash = "";
    ["x_mm", "y_mm"].forEach((name) => at.searchParams.delete(name));
    return at.href;
}

// Keeps a page as it is now, with the time: the page says itself that it was kept.
async function keepPage(address, answer) {
    const seen = await caches.open(SEEN);
    const html = (await answer.text()).replace("<body ", `<body data-kept="${Date.now()}" `);
    const headers = new Headers(answer.headers);
    const at = new URL(key(address));
    await seen.put(at.href, new Response(html, { status: 200, headers }));
    // The work leads to the section in hand, which has an address of its own: offline it leads to the last.
    if (at.pathname.endsWith("/work") && at.search) await seen.put(at.origin + at.pathname, Response.redirect(at.href, 302));
    const all = await seen.keys();
    await Promise.all(all.slice(0, Math.max(0, all.length - MOST)).map((old) => seen.delete(old)));
}

// A device that was made unknown has nothing to show of the workshop any more, but what waits on it: that is in its database, and the page that shows it has nothing else. The
// door's own pages answer so to whoever comes with nothing.
async function heed(answer) {
    if (answer.status !== 401 || !isOurs(answer) || isOfTheDoor(answer.url)) return;
    const seen = await caches.open(SEEN);
    const others = (await seen.keys()).filter((page) => new URL(page.url).pathname !== "/waiting");
    await Promise.all(others.map((page) => seen.delete(page)));
}

async function kept(address) {
    const seen = await caches.open(SEEN);
    const exact = await seen.match(key(address));
    // A section has an address of its own: another is not shown in its place.
    if (exact || new URL(address).searchParams.has("section")) return exact;
    return seen.match(key(address), { ignoreSearch: true });
}

function late() {
    const patience = Date.now() - awayAt < REMEMBERED ? PATIENCE_AWAY : PATIENCE;
    return new Promise((done) => { setTimeout(() => done(null), patience); });
}

// A page for somebody who goes to it: as it is now, or else as it was.
async function navigated(event) {
    const { request } = event;
    const asked = fetch(request);
    const old = () => kept(request.url);
    const keep = (answer) => (isPage(answer) ? keepPage(request.url, answer.clone()) : heed(answer));
    event.waitUntil(asked.then(keep, () => null));
    try {
        const inTime = await Promise.race([asked, late()]);
        awayAt = inTime ? 0 : Date.now();
        const answer = inTime ?? (await old()) ?? (await asked);
        // Where it leads is not told here; the browser goes there, and asks anew.
        if (answer.type === "opaqueredirect" || isOurs(answer)) return answer;
        return (await old()) ?? answer;
    } catch (failed) {
        return (await old()) ?? (await kept(new URL("/waiting", request.url))) ?? Promise.reject(failed);
    }
}

// A page that a script asks for, to show it anew or to take it along: as it is now, or not at all.
async function fetched(event) {
    const answer = await fetch(event.request);
    event.waitUntil(isPage(answer) ? keepPage(answer.url, answer.clone()) : heed(answer));
    return answer;
}

// A file with its hash in its name never changes.
async function file(request) {
    const files = await caches.open(FILES);
    const found = await files.match(request);
    if (found) return found;
    const answer = await fetch(request);
    if (answer.ok && isOurs(answer)) await files.put(request, answer.clone());
    return answer;
}

// Files that no page kept here names, and no file that one names, are of an older version.
async function clear() {
    const [files, seen] = [await caches.open(FILES), await caches.open(SEEN)];
    const named = new Set(ASSETS);
    const look = (text) => (text.match(/\/(?:assets\/[\w.-]+)/g) ?? []).filter((name) => !named.has(name)).map((name) => { named.add(name); return name; });
    let fresh = [];
    for (const page of await seen.keys()) fresh.push(...look(await (await seen.match(page)).text()));
    while (fresh.length > 0) {
        const texts = await Promise.all(fresh.map(async (name) => (await files.match(name))?.text() ?? ""));
        fresh = texts.flatMap(look);
    }
    for (const request of await files.keys()) {
        if (!named.has(new URL(request.url).pathname)) await files.delete(request);
    }
}

async function install() {
    const files = await caches.open(FILES);
    for (const address of ASSETS) {
        const answer = await fetch(address);
        if (!answer.ok || !isOurs(answer)) throw new Error(`${address} is not to be had`);
        await files.put(address, answer);
    }
    for (const address of PAGES) {
        const answer = await fetch(address, { headers: { accept: "text/html", "x-unasked": "1" }, cache: "no-store" });
        if (!isPage(answer)) throw new Error(`${address} is not to be had`);
        await keepPage(answer.url, answer);
    }
}

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(clear().then(() => self.clients.claim())));
self.addEventListener("message", (event) => {
    if (event.data === "take over") self.skipWaiting();
    if (event.data === "take this page") event.waitUntil(self.clients.claim());
});

self.addEventListener("fetch", (event) => {
    const { request } = event;
    const at = new URL(request.url);
    if (request.method !== "GET" || at.origin !== self.location.origin) return;
    if (at.pathname.startsWith("/assets/")) event.respondWith(file(request));
    else if (request.mode === "navigate") event.respondWith(navigated(event));
    else if (request.headers.get("accept") === "text/html") event.respondWith(fetched(event));
});
