// Putting actions in order: by the buttons of each row, or by dragging its handle.

function ordering(screen, words) {
  const said = make("p", { class: "aside", "aria-live": "polite" });
  const rows = make("ol", { class: "order" });
  screen.answers.forEach((answer) => rows.append(orderRow(answer, rows, words, announce)));
  number();

  function announce(row) {
    number();
    const place = [...rows.children].indexOf(row) + 1;
    said.textContent = fill(words.now_at, { label: row.dataset.label, place, total: rows.children.length });
  }
  function number() {
    [...rows.children].forEach((row, at) => {
      row.querySelector(".place").textContent = String(at + 1);
      row.querySelector("[data-move='-1']").disabled = at === 0;
      row.querySelector("[data-move='1']").disabled = at === rows.children.length - 1;
    });
  }
  return {
    element: group(screen, words.order_how, rows, said),
    value() {
      return { value: [...rows.children].map((row) => row.dataset.id) };
    },
    restore(value) {
      for (const id of value) {
        const row = [...rows.children].find((each) => each.dataset.id === id);
        if (row) rows.append(row);
      }
      number();
    },
  };
}

function orderRow(answer, rows, words, announce) {
  const step = (by, label) =>
    make(
      "button",
      {
        type: "button", class: "small", "data-move": by, "aria-label": `${label}: ${answer.label}`,
        onclick: (event) => {
          const other = by < 0 ? row.previousElementSibling : row.nextElementSibling;
          if (!other) return;
          if (by < 0) other.before(row); else other.after(row);
          announce(row);
          const button = event.currentTarget;
          (button.disabled ? row.querySelector("button:not(:disabled)") : button).focus();
        },
      },
      label,
    );
  const handle = make("span", { class: "handle", "aria-hidden": "true" });
  const row = make(
    "li",
    { "data-id": answer.id, "data-label": answer.label },
    handle,
    make("span", { class: "place", "aria-hidden": "true" }),
    make("span", { class: "label" }, answer.label),
    make("span", { class: "moves" }, step(-1, words.earlier), step(1, words.later)),
  );
  handle.addEventListener("pointerdown", (event) => drag(event, handle, row, rows, announce));
  return row;
}

function drag(start, handle, row, rows, announce) {
  start.preventDefault();
  handle.setPointerCapture(start.pointerId);
  row.classList.add("dragged");
  // The neighbours move and the dragged row stays put: a moved element loses the pointer.
  const middle = (other) => {
    const box = other.getBoundingClientRect();
    return box.top + box.height / 2;
  };
  const move = (event) => {
    const { previousElementSibling: above, nextElementSibling: below } = row;
    if (above && event.clientY < middle(above)) row.after(above);
    else if (below && event.clientY > middle(below)) row.before(below);
  };
  const drop = () => {
    handle.removeEventListener("pointermove", move);
    row.classList.remove("dragged");
    announce(row);
  };
  handle.addEventListener("pointermove", move);
  handle.addEventListener("pointerup", drop, { once: true });
  handle.addEventListener("pointercancel", drop, { once: true });
}
