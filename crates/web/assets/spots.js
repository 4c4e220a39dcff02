// A test spot is marked by a tap on the panel's map: its fields say where, and what they say is drawn on the map.

import { refreshFrom } from "/assets/live.js";
import { lay, lift, pointOf, tapped } from "/assets/map.js";

const form = () => document.querySelector("form[data-event=spot-marked]");
const field = (name) => form().elements[name];

// While somebody marks a spot the panel stays the one that they look at: what is proposed may become another as others read.
refreshFrom(() => {
    const inHand = form()?.dataset.touched ? form().elements.panel.value : null;
    return location.pathname + (inHand === null ? location.search : `?panel=${encodeURIComponent(inHand)}`);
});

// A distance as it was typed; none where it is no plain number.
function mm(name) {
    const text = field(name).value.trim();
    return /^\d+(\.\d+)?$/.test(text) ? Number(text) : null;
}

// Draws what the fields say, and says it.
function show() {
    if (!form()) return;
    const [x, y, width, height] = ["x_mm", "y_mm", "width_mm", "height_mm"].map(mm);
    const told = document.getElementById("chosen");
    const isWhole = [x, y, width, height].every((one) => one !== null);
    told.hidden = !isWhole;
    told.textContent = isWhole ? `${width} by ${height} mm, from ${x} mm across and ${y} mm up.` : "";
    if (!isWhole) { lift(); return; }
    const [from, to] = [pointOf({ x, y: y + height }), pointOf({ x: x + width, y })];
    lay("rect", { x: from.x, y: from.y, width: to.x - from.x, height: to.y - from.y });
}

// Puts the spot's middle where the map was tapped, as far as the panel reaches.
function put(at) {
    const { wide, high } = document.getElementById("map").dataset;
    const corner = (middle, size, most) => String(Math.max(0, Math.min(Math.round(middle - size / 2), Math.floor(most - size))));
    field("x_mm").value = corner(at.x, mm("width_mm") ?? 0, Number(wide));
    field("y_mm").value = corner(at.y, mm("height_mm") ?? 0, Number(high));
    field("y_mm").dispatchEvent(new Event("input", { bubbles: true }));
}

document.addEventListener("click", (click) => {
    const at = tapped(click);
    if (at) put(at);
});

document.addEventListener("input", (changed) => { if (changed.target.closest("form[data-event=spot-marked]")) show(); });

// The map is drawn anew as readings come.
document.addEventListener("refreshed", show);

show();
