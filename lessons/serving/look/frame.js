// The frame of a page: shown at once, replaced when the card is there.
window.voila_heartbeat = () => {};
window.voila_process = () => {};
window.voila_finish = () => {};

const cells = document.getElementById("rendered_cells");
const opening = document.getElementById("opening");
if (cells && opening) {
  new MutationObserver((_changes, watcher) => {
    if (!cells.querySelector("main, .jp-OutputArea-output > *")) return;
    opening.remove();
    watcher.disconnect();
  }).observe(cells, { childList: true, subtree: true });
}
