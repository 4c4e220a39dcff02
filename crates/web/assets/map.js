// A panel's map: places are millimetres from the panel's lower left, its drawing is in points from the upper left.

const SVG = "http://www.w3.org/2000/svg";
const map = () => document.getElementById("map");

// The place that a click on the map met, in whole mm; null where it met no map.
export function tapped(click) {
    if (!click.target.closest("#map")) return null;
    const { x, y, scale } = map().dataset;
    const point = new DOMPoint(click.clientX, click.clientY).matrixTransform(map().querySelector("svg").getScreenCTM().inverse());
    return { x: Math.round((point.x - Number(x)) / Number(scale)), y: Math.round((Number(y) - point.y) / Number(scale)) };
}

// The drawing's point of a place.
export function pointOf(place) {
    const { x, y, scale } = map().dataset;
    return { x: Number(x) + place.x * Number(scale), y: Number(y) - place.y * Number(scale) };
}

// Lays a mark over the map, in place of the one there was: a shape, upon a casing of the same so that it shows on any colour.
export function lay(shape, attributes) {
    lift();
    const mark = document.createElementNS(SVG, "g");
    mark.setAttribute("class", "elsewhere");
    for (const name of ["casing", "line"]) {
        const made = document.createElementNS(SVG, shape);
        made.setAttribute("class", name);
        for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
        mark.append(made);
    }
    map().querySelector("svg").append(mark);
}

// Takes the mark away.
export function lift() {
    document.querySelector("#map .elsewhere")?.remove();
}
