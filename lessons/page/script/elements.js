// Building the page's elements. Text only ever enters as text, never as markup.

function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of children.flat()) {
    if (child === null || child === undefined || child === "") continue;
    element.append(child);
  }
  return element;
}

// A blank line in a sentence of the words files starts a new paragraph.
function paragraphs(text, className = "") {
  return String(text ?? "")
    .split(/\n\s*\n/)
    .filter((part) => part.trim() !== "")
    .map((part) => make("p", { class: className || null }, part.trim()));
}

function list(items, className = "") {
  return make("ul", { class: className || null }, items.map((item) => make("li", {}, ...[item].flat())));
}

let lastNumber = 0;
function freshId(stem) {
  lastNumber += 1;
  return `sinkside-${stem}-${lastNumber}`;
}

// "{seconds}" in a sentence of the interface words.
function fill(text, values) {
  return text.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
}
