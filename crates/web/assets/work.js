// A clock, only where somebody opens it.

function show() {
    const clock = document.getElementById("clock");
    if (!clock?.open || !clock.dataset.since) return;
    const seconds = Math.max(0, Math.floor((Date.now() - Date.parse(clock.dataset.since)) / 1000));
    const two = (n) => String(n).padStart(2, "0");
    document.getElementById("elapsed").textContent = `${Math.floor(seconds / 60)}:${two(seconds % 60)}`;
}

setInterval(show, 1000);
document.addEventListener("toggle", show, true);
