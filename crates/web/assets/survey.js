// A number typed, tapped, or sent by a gauge that acts as a keyboard, anywhere on the page.

import { event, handIn, someoneIsHere } from "/assets/record.js";
import { refresh, refuse, tell } from "/assets/app.js";

const UM = { um: 1, mil: 25.4, mm: 1000 };
const echo = document.getElementById("echo");
const unit = document.getElementById("unit");
const undercoat = document.getElementById("undercoat");
const called = document.getElementById("called");
const asked = document.getElementById("asked");

let typed = "";
let elsewhere = null;
let taking = false;

const place = () => document.getElementById("place");

function show() {
    echo.textContent = typed;
    document.getElementById("echo-unit").textContent = unit.value;
}

function goElsewhere(at, words) {
    elsewhere = at;
    const told = document.getElementById("elsewhere");
    told.hidden = at === null;
    told.textContent = at === null ? "" : `${words} ${at.x} mm across, ${at.y} mm up.`;
    document.querySelector("#map .elsewhere")?.remove();
    if (at === null) return;
    const map = document.getElementById("map");
    const svg = map.querySelector("svg");
    const mark = document.createElementNS("http://www.w3.org/2000/svg", "circle");
    mark.setAttribute("class", "elsewhere");
    mark.setAttribute("cx", Number(map.dataset.x) + at.x * Number(map.dataset.scale));
    mark.setAttribute("cy", Number(map.dataset.y) - at.y * Number(map.dataset.scale));
    mark.setAttribute("r", "5");
    svg.append(mark);
}

// The number and unit that were typed; the unit may stand behind the number.
function read() {
    const [, number, behind] = typed.match(/^([^a-zµμ]*)\s*([a-zµμ]*)$/i) ?? [null, typed, ""];
    const said = behind.replace(/[µμ]/, "u").toLowerCase();
    return { number: number.trim(), unit: said in UM ? said : unit.value, known: said === "" || said in UM };
}

// Whether the number may be taken without a question: plain, and within what is to be expected here.
function isPlain({ number, unit: of, known }) {
    if (!known || !/^\d+(\.\d+)?$/.test(number) || elsewhere !== null) return false;
    const { low, high, undercoatLow, undercoatHigh } = place().dataset;
    const um = Number(number) * UM[of];
    const [least, most] = undercoat.checked ? [undercoatLow, undercoatHigh] : [low, high];
    return um >= Number(least) && um <= Number(most);
}

async function ask(film, at) {
    const job = document.body.dataset.job;
    const about = { ...film, x_mm: at.x, y_mm: at.y, session: place().dataset.session, layer: undercoat.checked ? "undercoat" : "total" };
    const answer = await fetch(`/jobs/${job}/survey/${place().dataset.at}/question`, { method: "POST", body: JSON.stringify(about) });
    const told = await answer.json();
    if (!answer.ok) throw new Error(told.detail);
    if (!told.question) return told.taken;
    asked.querySelector("#question").textContent = told.question;
    const choices = told.meant.map((meant) => {
        const choice = document.createElement("button");
        choice.className = "primary";
        choice.value = JSON.stringify(meant);
        choice.textContent = `It was ${meant.number} ${meant.unit}`;
        return choice;
    });
    asked.querySelector("#meant").replaceChildren(...choices);
    asked.querySelector("button[value=taken]").hidden = !told.taken;
    asked.returnValue = "";
    asked.showModal();
    // A gauge that goes on sending must confirm nothing.
    document.getElementById("not-taken").focus();
    await new Promise((closed) => { asked.addEventListener("close", closed, { once: true }); });
    if (asked.returnValue === "taken") return told.taken;
    return asked.returnValue ? JSON.parse(asked.returnValue) : null;
}

async function take() {
    if (typed.trim() === "" || taking) return;
    taking = true;
    try {
        const { panel, x, y, session, gauge } = place().dataset;
        const at = elsewhere ?? (x === undefined ? null : { x: Number(x), y: Number(y) });
        if (at === null) throw new Error("Mark the place on the map first.");
        if (!(await someoneIsHere())) return;
        const said = read();
        const film = isPlain(said) ? { number: said.number, unit: said.unit } : await ask({ number: said.known ? said.number : typed, unit: said.unit }, at);
        if (film === null) { typed = ""; return; }
        const body = { kind: "reading-taken", panel, x_mm: String(at.x), y_mm: String(at.y), value: film };
        if (undercoat.checked) body.layer = "undercoat";
        if (session) body.session = session;
        if (gauge) body.gauge = gauge;
        const job = document.body.dataset.job;
        await handIn(job, [event(job, body)]);
        typed = "";
        undercoat.checked = false;
        goElsewhere(null);
        tell(`${film.number} ${film.unit} taken at ${at.x}, ${at.y} mm`);
        await refresh();
    } catch (failed) {
        refuse(failed.message);
    } finally {
        taking = false;
        show();
    }
}

function key(pressed) {
    if (pressed === "Enter") { take(); return; }
    if (taking) return;
    if (pressed === "Backspace") typed = typed.slice(0, -1);
    else if (pressed === "Escape") typed = "";
    else if (typed.length < 16) typed += pressed;
    show();
}

document.addEventListener("keydown", (press) => {
    if (press.ctrlKey || press.metaKey || press.altKey || asked.open || document.getElementById("who").open) return;
    if (press.target.closest("input:not([type=checkbox], [type=radio]), textarea")) return;
    const isStart = /^[0-9.,-]$/.test(press.key);
    const isMore = typed !== "" && /^([a-zµμ ]|Backspace|Escape|Enter)$/i.test(press.key);
    if (!isStart && !isMore) return;
    press.preventDefault();
    key(press.key);
});

document.addEventListener("click", (click) => {
    const pressed = click.target.closest("[data-key]");
    if (pressed) key(pressed.dataset.key);
    const map = click.target.closest("#map");
    if (map) {
        const svg = map.querySelector("svg");
        const point = new DOMPoint(click.clientX, click.clientY).matrixTransform(svg.getScreenCTM().inverse());
        const x = Math.round((point.x - Number(map.dataset.x)) / Number(map.dataset.scale));
        const y = Math.round((Number(map.dataset.y) - point.y) / Number(map.dataset.scale));
        goElsewhere({ x, y }, "Read instead at");
    }
});

document.getElementById("again").addEventListener("click", () => {
    const last = document.querySelector("#place [data-last-x]");
    if (last) goElsewhere({ x: Number(last.dataset.lastX), y: Number(last.dataset.lastY) }, "Once more at");
    else refuse("Nothing was read here last.");
});

document.getElementById("go-elsewhere").addEventListener("click", () => {
    const [x, y] = ["elsewhere-x", "elsewhere-y"].map((id) => document.getElementById(id).value.trim());
    if (/^\d+(\.\d+)?$/.test(x) && /^\d+(\.\d+)?$/.test(y)) goElsewhere({ x: Number(x), y: Number(y) }, "Read instead at");
    else refuse("Give both distances in mm, like 420.");
});

called.addEventListener("click", () => {
    const is = called.getAttribute("aria-pressed") !== "true";
    called.setAttribute("aria-pressed", String(is));
    document.body.classList.toggle("called", is);
});

unit.addEventListener("change", show);
show();
