// The card: shows the kernel's screen, sends what the person does, and never
// claims more than the kernel has confirmed.

const PATIENCE_MS = 5000;
// A wait that a person notices needs a word; a shorter one would only flicker. A working judgement.
const NOTICED_MS = 700;

// Where the page keeps the language that was chosen on it, for all stations.
const LANGUAGE = "sinkside:language";

class Page {
  constructor(model, element) {
    this.model = model;
    this.words = model.get("words");
    this.shown = null;
    this.built = null;
    this.waiting = null;
    // In a notebook program the keys belong to the card while it has the focus.
    this.root = make("main", { class: "sinkside", "data-lm-suppress-shortcuts": "true" });
    this.status = make("p", { class: "unseen", role: "status", "aria-live": "polite" });
    this.body = make("div", {});
    this.root.append(this.status, this.body);
    element.append(this.root);
    this.onScreen = () => this.show(this.model.get("screen"));
    this.onMessage = (message) => { if (message.do === "kept") this.settle(); };
    this.onOffline = () => this.lost(this.words.offline);
    this.onWords = () => { this.words = this.model.get("words"); };
    model.on("change:words", this.onWords);
    model.on("change:screen", this.onScreen);
    model.on("msg:custom", this.onMessage);
    window.addEventListener("offline", this.onOffline);
    this.open();
  }

  leave() {
    this.model.off("change:words", this.onWords);
    this.model.off("change:screen", this.onScreen);
    this.model.off("msg:custom", this.onMessage);
    window.removeEventListener("offline", this.onOffline);
    clearTimeout(this.waiting);
    clearTimeout(this.noticed);
  }

  open() {
    const screen = this.model.get("screen");
    this.store = screen.store ?? "";
    const token = remember(localStorageOrNone(), this.store);
    // Only where the kernel can change it: another page would wait for a screen that never comes.
    const language = screen.languages?.length ? remember(localStorageOrNone(), LANGUAGE) : null;
    if (token || language) this.body.append(make("p", { class: "opening" }, this.words.opening));
    else this.show(screen);
    this.tell(language ? { do: "hello", token, language } : { do: "hello", token });
  }

  // ---- from the kernel --------------------------------------------------

  show(screen) {
    this.settle();
    if (!screen.kind) return;
    if (typeof screen.token === "string") keep(localStorageOrNone(), screen.store ?? this.store, screen.token);
    if (this.shown && sameBut(this.shown, screen)) {
      this.shown = screen;
      this.notice(screen.notice, this.built.first);
      this.savedLine.textContent = screen.saved ?? "";
      this.built.offer?.(screen.hint);
      return;
    }
    const first = this.shown === null;
    this.shown = screen;
    document.documentElement.lang = screen.language;
    this.root.lang = screen.language;
    this.root.dataset.kind = screen.kind;
    this.body.replaceChildren(this.build(screen));
    this.bringDraftBack(screen);
    if (screen.notice) this.notice(screen.notice, this.built.first);
    else {
      this.heading.focus({ preventScroll: true });
      if (!first) window.scrollTo(0, 0);
    }
    this.status.textContent = screen.saved ?? "";
    this.measure();
  }

  build(screen) {
    const act = (action) => this.act(action);
    this.built = (BUILDERS[screen.kind] ?? BUILDERS.problem)(screen, this.words, act);
    this.heading = make("h1", { tabindex: "-1" });
    if (screen.verdict) this.heading.append(verdictShape(screen.verdict));
    this.heading.append(screen.heading);
    this.heading.dataset.verdict = screen.verdict ?? "";
    this.error = make("p", { class: "error", id: freshId("error") });
    this.savedLine = make("span", { class: "saved" }, screen.saved ?? "");
    const buttons = (screen.buttons ?? [screen.button]).filter(Boolean).map((button, at) =>
      make(
        "button",
        at === 0 ? { type: "submit", class: "main" } : { type: "button", class: "other", onclick: () => this.act(bare(button)) },
        button.label,
      ));
    const main = (screen.buttons ?? [screen.button]).find(Boolean);
    return make(
      "form",
      { novalidate: true, onsubmit: (event) => { event.preventDefault(); if (main) this.confirm(bare(main)); } },
      strip(screen, act),
      this.heading,
      ...[this.built.content].flat(),
      termList(screen.terms, this.words),
      make("footer", { class: buttons.length || screen.saved ? "bar" : "bar empty" }, this.error, make("div", { class: "buttons" }, this.savedLine, ...buttons.slice(1), buttons[0])),
    );
  }

  // ---- to the kernel ----------------------------------------------------

  confirm(action) {
    if (!this.built.read) { this.act(action); return; }
    const { action: more, error, at } = this.built.read(this.words);
    if (error) { this.notice(error, at); return; }
    this.act({ ...action, ...more });
  }

  act(action) {
    if (this.busy) return;
    if (action.do === "print") { window.print(); return; }
    if (action.do === "reload") { this.reload(); return; }
    if (action.do === "leave") { window.location.assign(action.to); return; }
    if (action.do === "language") keep(localStorageOrNone(), LANGUAGE, action.id);
    this.notice("");
    this.busy = true;
    performance.mark("sinkside:confirm");
    this.noticed = setTimeout(() => this.progressSaid(this.words.working), NOTICED_MS);
    for (const button of this.body.querySelectorAll("button")) button.setAttribute("aria-disabled", "true");
    this.tell({ ...action, serial: this.shown.serial });
  }

  tell(message) {
    clearTimeout(this.waiting);
    this.waiting = setTimeout(() => this.lost(this.words.no_answer), PATIENCE_MS);
    try {
      this.model.send(message);
    } catch { // the connection is known to be gone: no need to wait
      this.lost(this.words.no_answer);
    }
  }

  // Beside the button and to those who listen; never more than what is known.
  progressSaid(text) {
    if (this.savedLine) this.savedLine.textContent = text;
    this.status.textContent = text;
  }

  restSaid() {
    clearTimeout(this.noticed);
    if (this.savedLine?.textContent === this.words.working) this.progressSaid(this.shown?.saved ?? "");
  }

  settle() {
    clearTimeout(this.waiting);
    this.restSaid();
    this.busy = false;
    this.lostNote?.remove();
    this.lostNote = null;
    for (const button of this.body.querySelectorAll("[aria-disabled]")) button.removeAttribute("aria-disabled");
  }

  // ---- what went wrong --------------------------------------------------

  notice(text, at = null) {
    for (const marked of this.body.querySelectorAll("[aria-invalid]")) {
      marked.removeAttribute("aria-invalid");
      const rest = (marked.getAttribute("aria-describedby") ?? "").replace(this.error.id, "").trim();
      if (rest) marked.setAttribute("aria-describedby", rest); else marked.removeAttribute("aria-describedby");
    }
    if (!this.error) return;
    this.error.textContent = text ?? "";
    if (!text) return;
    if (!at) { this.status.textContent = text; return; }
    const near = at.closest("fieldset, .field") ?? at.parentElement;
    near.append(this.error);
    at.setAttribute("aria-invalid", "true");
    at.setAttribute("aria-describedby", `${at.getAttribute("aria-describedby") ?? ""} ${this.error.id}`.trim());
    at.focus();
  }

  lost(text) {
    if (this.lostNote) return;
    this.restSaid();
    const draft = this.built?.draft?.();
    if (draft !== undefined && this.store) {
      keep(sessionStorageOrNone(), `${this.store}:draft`, JSON.stringify({ id: this.shown.id, value: draft }));
    }
    this.lostNote = make(
      "div", { class: "lost", role: "alert" },
      make("p", {}, make("strong", {}, text)),
      make("p", {}, this.words.lost_kept),
      make("button", { type: "button", class: "main", onclick: () => this.reload() }, this.words.open_again),
    );
    this.body.prepend(this.lostNote);
    this.lostNote.scrollIntoView({ block: "start" });
  }

  reload() { window.location.reload(); }

  bringDraftBack(screen) {
    const name = `${this.store}:draft`;
    const kept = remember(sessionStorageOrNone(), name);
    if (!kept) return;
    // Whatever is shown first, it is used once: the next person must not meet it.
    keep(sessionStorageOrNone(), name, "");
    if (screen.kind !== "decision") return;
    try {
      const { id, value } = JSON.parse(kept);
      if (id === screen.id) this.built.restore(value);
    } catch (error) {
      if (!(error instanceof SyntaxError || error instanceof TypeError)) throw error;
    }
  }

  // From the click to after the paint that holds the new screen and its picture.
  measure() {
    if (performance.getEntriesByName("sinkside:confirm").length === 0) return;
    requestAnimationFrame(() => setTimeout(() => {
      performance.measure("sinkside:consequence", "sinkside:confirm");
      performance.clearMarks("sinkside:confirm");
    }));
  }
}

function strip(screen, act) {
  const { home, place, who, aside } = screen;
  return make(
    "header", { class: "strip" },
    home ? make("a", { class: "home", href: home.to }, home.label) : null,
    place ? make("span", { class: "where" }, place) : null,
    screen.progress ? make("span", { class: "said" }, screen.progress.label) : null,
    who ? make("span", { class: "who" }, who) : null,
    aside ? make("button", { type: "button", class: "leave", onclick: () => act(bare(aside)) }, aside.label) : null,
    progress(screen.progress),
  );
}

function progress(state) {
  if (!state) return make("span", { class: "marks plain", "aria-hidden": "true" });
  const { total, done } = state;
  const marks = Array.from({ length: total }, (_, at) =>
    make("span", { class: at < done ? "mark done" : at === done ? "mark here" : "mark" }));
  return make("span", { class: "marks", "aria-hidden": "true" }, marks);
}

function bare({ label, ...action }) { return action; }

// What may differ while the screen stays the same and what is typed in it is kept.
const PASSING = ["serial", "notice", "saved", "token", "hint"];
function sameBut(one, other) {
  const rest = (screen) => JSON.stringify(Object.entries(screen).filter(([name]) => !PASSING.includes(name)).sort());
  return rest(one) === rest(other);
}

// Storage is refused by some browsers' settings; then a reload starts at the sign-in.
function localStorageOrNone() {
  try { return window.localStorage; } catch { return null; }
}
function sessionStorageOrNone() {
  try { return window.sessionStorage; } catch { return null; }
}
function remember(storage, name) {
  try { return (name && storage?.getItem(name)) || null; } catch { return null; }
}
function keep(storage, name, value) {
  if (!name) return;
  try {
    if (value === "") storage?.removeItem(name); else storage?.setItem(name, value);
  } catch { /* full or refused: the log on disk is the record, this is only the way back to it */ }
}

function render({ model, el }) {
  const page = new Page(model, el);
  return () => page.leave();
}

export default { render };
