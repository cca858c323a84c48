// The five ways to answer. Each control gives {element, value(), restore(value)};
// value() returns {value} or {error, at}, where `at` is the element to go to.

function choices(screen, words, { several }) {
  const name = freshId("answer");
  const boxes = screen.answers.map((answer) => {
    const input = make("input", { type: several ? "checkbox" : "radio", name, value: answer.id });
    return { input, label: make("label", { class: "choice" }, input, make("span", {}, answer.label)) };
  });
  const chosen = () => boxes.filter((box) => box.input.checked).map((box) => box.input.value);
  return {
    element: group(screen, several ? words.tick_all : "", boxes.map((box) => box.label)),
    value() {
      const ids = chosen();
      if (ids.length === 0) {
        return { error: several ? words.tick_one : words.choose_one, at: boxes[0].input };
      }
      return { value: several ? ids : ids[0] };
    },
    restore(value) {
      const ids = new Set(several ? value : [value]);
      for (const box of boxes) box.input.checked = ids.has(box.input.value);
    },
  };
}

function quantity(screen, words) {
  const amount = make("input", {
    id: freshId("amount"), type: "text", inputmode: "decimal", autocomplete: "off", class: "amount",
  });
  const only = screen.units.length === 1 ? screen.units[0] : null; // nothing to choose or to mistake
  const unit = make(
    "select",
    { id: freshId("unit") },
    only ? null : make("option", { value: "" }, words.choose_unit),
    screen.units.map((each) => make("option", { value: each.id }, each.label)),
  );
  const label = only ? `${words.amount} (${only.label})` : words.amount;
  const fields = make(
    "div",
    { class: "amount-row" },
    make("div", {}, make("label", { for: amount.id }, label), amount),
    only ? null : make("div", {}, make("label", { for: unit.id }, words.unit), unit),
  );
  return {
    element: group(screen, "", fields),
    value() {
      const text = amount.value.trim().replace(",", ".");
      if (text === "") return { error: words.amount_missing, at: amount };
      if (!/^[+-]?(\d+\.?\d*|\.\d+)$/.test(text)) return { error: words.amount_unread, at: amount };
      if (unit.value === "") return { error: words.unit_missing, at: unit };
      return { value: { amount: Number(text), unit: unit.value } };
    },
    restore(value) {
      amount.value = String(value.amount);
      unit.value = value.unit;
    },
  };
}

function places(screen, words) {
  const boxes = screen.spots.map((spot) => {
    const input = make("input", { type: "checkbox", value: spot.place });
    return { spot, input, label: make("label", { class: "choice" }, input, make("span", {}, spot.label)) };
  });
  const none = make("input", { type: "checkbox", value: "" });
  const noneLabel = make("label", { class: "choice apart" }, none, make("span", {}, words.no_place));
  const apart = pushedApart(screen.spots);
  const hotspots = boxes.map(({ spot, input }, at) => {
    const button = make("button", {
      type: "button", class: "hotspot", "aria-pressed": "false", "aria-label": spot.label,
      // The list beside the picture is the keyboard's way; two stops for one place would tire.
      tabindex: "-1",
      style: `left:${apart[at].x / 6.4}%;top:${apart[at].y / 3.6}%;--reach:${spot.r / 3.2}%`,
      title: spot.label,
      onclick: () => { input.checked = !input.checked; none.checked = false; agree(); },
    });
    input.addEventListener("focus", () => button.classList.add("pointed"));
    input.addEventListener("blur", () => button.classList.remove("pointed"));
    return button;
  });
  function agree() {
    boxes.forEach(({ input }, at) => hotspots[at].setAttribute("aria-pressed", String(input.checked)));
  }
  for (const { input } of boxes) {
    input.addEventListener("change", () => { if (input.checked) none.checked = false; agree(); });
  }
  none.addEventListener("change", () => {
    if (none.checked) for (const { input } of boxes) input.checked = false;
    agree();
  });
  return {
    element: group(screen, words.mark_how, make("div", { class: "columns" }, boxes.map((box) => box.label)), noneLabel),
    hotspots,
    value() {
      const ids = boxes.filter(({ input }) => input.checked).map(({ input }) => input.value);
      if (ids.length === 0 && !none.checked) return { error: words.mark_one, at: boxes[0].input };
      return { value: ids };
    },
    restore(value) {
      const ids = new Set(value);
      for (const { input } of boxes) input.checked = ids.has(input.value);
      none.checked = ids.size === 0;
      agree();
    },
  };
}

// Places that lie on each other (a closed clamp) get rings side by side, each big enough to tap.
function pushedApart(spots) {
  const least = 50; // picture units; 44 px where the picture is 560 px wide
  const moved = spots.map(({ x, y }) => ({ x, y }));
  for (let round = 0; round < 20; round += 1) {
    for (let one = 0; one < moved.length; one += 1) {
      for (let other = one + 1; other < moved.length; other += 1) {
        const [a, b] = [moved[one], moved[other]];
        const [dx, dy] = [b.x - a.x, b.y - a.y];
        const far = Math.hypot(dx, dy);
        if (far >= least) continue;
        const half = (least - far) / 2;
        const [ux, uy] = far > 0 ? [dx / far, dy / far] : [0, 1];
        Object.assign(a, { x: a.x - ux * half, y: a.y - uy * half });
        Object.assign(b, { x: b.x + ux * half, y: b.y + uy * half });
      }
    }
  }
  return moved.map(({ x, y }) => ({ x: Math.min(615, Math.max(25, x)), y: Math.min(335, Math.max(25, y)) }));
}

// The question is the page's heading as a rule; the legend then says it to a screen reader only.
function group({ question, heading }, help, ...content) {
  const helpId = help ? freshId("help") : null;
  return make(
    "fieldset",
    { "aria-describedby": helpId },
    make("legend", { class: question === heading ? "unseen" : null }, question),
    help ? make("p", { class: "help", id: helpId }, help) : null,
    make("div", { class: "answers" }, ...content),
  );
}

function control(screen, words) {
  if (screen.control === "choose_one") return choices(screen, words, { several: false });
  if (screen.control === "choose_several") return choices(screen, words, { several: true });
  if (screen.control === "order") return ordering(screen, words);
  if (screen.control === "quantity") return quantity(screen, words);
  return places(screen, words);
}
