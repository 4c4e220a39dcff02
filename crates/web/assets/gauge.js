// Shows what a gauge that acts as a keyboard sends: each text with its keys' distances in time.

const list = document.getElementById("sent");
let keys = [];

document.addEventListener("keydown", (press) => {
    if (press.ctrlKey || press.metaKey || press.altKey || press.target.closest("input, textarea, select")) return;
    if (press.key !== "Enter") {
        if (press.key.length === 1) keys.push({ key: press.key, at: press.timeStamp });
        return;
    }
    if (keys.length === 0) return;
    press.preventDefault();
    const text = keys.map(({ key }) => key).join("");
    const apart = keys.slice(1).map(({ at }, i) => at - keys[i].at);
    const most = apart.length > 0 ? `, keys at most ${Math.round(Math.max(...apart))} ms apart` : "";
    const plain = /^\d+(\.\d+)?( ?(um|mil|mm))?$/.test(text);
    const item = document.createElement("li");
    const number = document.createElement("strong");
    number.className = "entered";
    number.textContent = text;
    item.append(number, ` then Enter${most}. ${plain ? "It will be taken as it is." : "It will be asked about: set the gauge to a plain number with a point."}`);
    list.prepend(item);
    keys = [];
});
