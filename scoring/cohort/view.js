// The served pages: lists above, the article below. The lists stay where they are when the article
// is made anew, so that nobody loses their place.
const WAIT_MS = 350; // someone who walks through a list with the arrow keys is left to finish
const LOST_MS = 120000; // far longer than the largest cohort takes

function made(tag, attributes = {}, ...kids) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...kids);
  return element;
}

function links(doors) {
  const items = doors.map((door) => {
    const link = made("a", { href: door.address }, door.label);
    if (door.here) link.setAttribute("aria-current", "page");
    return made("li", {}, link);
  });
  return made("nav", { "aria-label": "Pages" }, made("ul", {}, ...items));
}

function list(control, changed) {
  const id = `choose-${control.name}`;
  const select = made("select", { id, name: control.name });
  for (const [label, value] of control.options) select.append(made("option", { value }, label));
  select.addEventListener("change", changed);
  return made("div", { class: "choice" }, made("label", { for: id }, control.label), select);
}

function render({ model, el }) {
  const main = made("main", { class: "cohort-page" });
  const doors = model.get("doors");
  const controls = model.get("controls");
  const header = made("header");
  const form = made("form", { "aria-label": "What is shown" });
  const status = made("p", { role: "status", class: "status" });
  const rest = made("div");
  const article = made("article", {}, header, form, status, rest);
  if (doors.length) main.append(links(doors));
  main.append(article);
  el.append(main);

  let serial = model.get("chosen").serial ?? 0;
  let waiting = 0;
  let lost = 0;

  function ask() {
    serial += 1;
    const values = Object.fromEntries(new FormData(form));
    model.set("chosen", { ...values, serial });
    model.save_changes();
    lost = setTimeout(() => {
      main.removeAttribute("aria-busy");
      status.textContent = "No answer came. Load the page again.";
    }, LOST_MS);
  }

  function changed() {
    clearTimeout(waiting);
    clearTimeout(lost);
    main.setAttribute("aria-busy", "true");
    status.textContent = "Working\u2026";
    waiting = setTimeout(ask, WAIT_MS);
  }

  function show() {
    const shown = model.get("shown");
    if ((shown.serial ?? 0) < serial) return; // an answer to an older choice
    clearTimeout(lost);
    const parsed = document.createElement("template");
    parsed.innerHTML = shown.html;
    const fresh = parsed.content.querySelector("article");
    const head = fresh.querySelector(":scope > header");
    article.className = fresh.className;
    header.replaceChildren(...(head ? head.childNodes : []));
    if (head) head.remove();
    rest.replaceChildren(...fresh.childNodes);
    main.removeAttribute("aria-busy");
    if (serial) status.textContent = shown.said;
  }

  form.addEventListener("submit", (event) => event.preventDefault());
  form.append(...controls.map((control) => list(control, changed)));
  form.hidden = !controls.length;
  model.on("change:shown", show);
  show();
  return () => {
    clearTimeout(waiting);
    clearTimeout(lost);
    model.off("change:shown", show);
  };
}

export default { render };
