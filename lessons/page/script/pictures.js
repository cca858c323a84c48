// Pictures come from the kernel as SVG text. They are our own, and are still
// stripped of everything that could run or reach out.

const FORBIDDEN = ["script", "foreignObject", "iframe", "animate", "set", "image", "use"];

function drawing(svgText) {
  const parsed = new DOMParser().parseFromString(svgText, "image/svg+xml");
  const svg = parsed.documentElement;
  if (svg.localName !== "svg" || parsed.querySelector("parsererror")) return null;
  for (const name of FORBIDDEN) {
    for (const found of [...svg.getElementsByTagName(name)]) {
      const inside = name === "use" && (found.getAttribute("href") ?? "").startsWith("#");
      if (!inside) found.remove();
    }
  }
  const prefix = freshId("drawn") + "-";
  for (const part of [svg, ...svg.querySelectorAll("*")]) cleanPart(part, prefix);
  svg.setAttribute("aria-hidden", "true");
  svg.setAttribute("focusable", "false");
  svg.removeAttribute("width");
  svg.removeAttribute("height");
  return document.adoptNode(svg);
}

// Two pictures on one screen may use the same ids, so each gets its own prefix.
function cleanPart(part, prefix) {
  for (const { name, value } of [...part.attributes]) {
    if (/^on/i.test(name)) part.removeAttribute(name);
    else if (name === "id") part.setAttribute(name, prefix + value);
    else if (/href$/i.test(name)) {
      if (value.startsWith("#")) part.setAttribute(name, `#${prefix}${value.slice(1)}`);
      else part.removeAttribute(name);
    } else if (/url\(/i.test(value)) {
      const local = value.replace(/url\(\s*["']?#([^)"']+)["']?\s*\)/g, `url(#${prefix}$1)`);
      if (/url\((?!#)/i.test(local)) part.removeAttribute(name);
      else part.setAttribute(name, local);
    }
  }
  if (part.localName === "style" && /url\(|@import/i.test(part.textContent)) part.remove();
}

function picture(content, caption = "") {
  if (!content || !content.svg) return null;
  const drawn = drawing(content.svg);
  const frame = make("div", { class: "drawing", role: "img", "aria-label": content.alt }, drawn);
  const shown = caption || content.caption || "";
  const stage = make("div", { class: "stage" }, frame);
  return make("figure", { class: "picture" }, stage, shown ? make("figcaption", {}, shown) : null);
}

// A shape for each verdict, so that colour never speaks alone.
const VERDICT_SHAPES = {
  right: [["circle", { cx: 16, cy: 16, r: 14 }], ["path", { d: "M9 17l5 5 9-11", class: "cut" }]],
  partly: [
    ["circle", { cx: 16, cy: 16, r: 13, class: "open" }],
    ["path", { d: "M16 3a13 13 0 0 0 0 26z" }],
  ],
  wrong: [["path", { d: "M16 2l14 27H2z" }], ["path", { d: "M16 12v8M16 24v1", class: "cut" }]],
  unsafe: [
    ["path", { d: "M10 2h12l8 8v12l-8 8H10l-8-8V10z" }],
    ["path", { d: "M10 10l12 12M22 10L10 22", class: "cut" }],
  ],
};

function verdictShape(verdict) {
  const space = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(space, "svg");
  svg.setAttribute("viewBox", "0 0 32 32");
  svg.setAttribute("aria-hidden", "true");
  svg.setAttribute("class", "shape");
  for (const [tag, attributes] of VERDICT_SHAPES[verdict] ?? []) {
    const part = document.createElementNS(space, tag);
    for (const [name, value] of Object.entries(attributes)) part.setAttribute(name, value);
    svg.append(part);
  }
  return svg;
}
