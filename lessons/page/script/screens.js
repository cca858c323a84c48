// One builder for each kind of screen. A builder returns the content below the
// heading and may return `read`, which gives the action of the main button.

const BUILDERS = {
  sign_in(screen, own, act) {
    const inputs = screen.fields.map((field) => {
      const hintId = freshId("hint");
      const input = make("input", {
        id: freshId("field"), name: field.name, type: "text", inputmode: field.inputmode ?? "text",
        autocomplete: "off", autocapitalize: "characters", spellcheck: "false",
        "aria-describedby": hintId,
      });
      const row = make(
        "div", { class: "field" },
        make("label", { for: input.id }, field.label),
        make("p", { class: "help", id: hintId }, field.hint),
        input,
      );
      return { field, input, row };
    });
    return {
      content: [
        languageChoice(screen, act),
        ...paragraphs(screen.intro, "lead"),
        make("div", { class: "fields" }, inputs.map((each) => each.row)),
      ],
      read(words) {
        const values = {};
        for (const { field, input } of inputs) {
          const text = input.value.trim();
          if (text === "") return { error: fill(words.field_missing, { label: field.label }), at: input };
          values[field.name] = text;
        }
        return { action: { values } };
      },
      first: inputs[0]?.input,
    };
  },

  choose(screen, words, act) {
    const items = screen.items.map((item) =>
      make(
        "li", {},
        make(
          "button",
          { type: "button", class: "door", "data-id": item.id, onclick: () => act({ do: "choose", id: item.id }) },
          make("span", item.language ? { class: "title", lang: item.language } : { class: "title" }, item.title),
          make("span", { class: "detail" }, item.detail),
          make("span", { class: "state" }, item.state),
        ),
      ));
    const practise = (screen.practise ?? []).map((item) => make("li", {}, lessonDoor(item, act)));
    const weeks = screen.weeks ?? [];
    return {
      content: [
        ...paragraphs(screen.intro, "lead"),
        practise.length ? [make("h2", {}, words.practise), make("ul", { class: "doors" }, practise), make("h2", {}, words.all_lessons)] : null,
        make("ul", { class: items.length > 6 ? "doors many" : "doors" }, items),
        weeks.length ? [make("h2", {}, words.weeks), weeks.map((week) => stationLine(week))] : null,
      ].flat(2),
    };
  },

  intro(screen, words) {
    const text = make(
      "div", { class: "text" },
      paragraphs(screen.situation, "lead"),
      screen.aims.length ? [make("h2", {}, words.aims), list(screen.aims)] : null,
      screen.minutes ? make("p", { class: "aside" }, screen.minutes) : null,
      screen.caution ? make("p", { class: "caution" }, make("strong", {}, words.caution), " ", screen.caution) : null,
    );
    return { content: beside(picture(screen.picture), text) };
  },

  decision(screen, words, act) {
    const answer = control(screen, words);
    const shown = picture(screen.picture);
    if (answer.hotspots) shown?.querySelector(".stage").append(...answer.hotspots);
    const reminder = screen.situation
      ? make("details", { class: "reminder" }, make("summary", {}, words.situation), paragraphs(screen.situation))
      : null;
    const left = shown ? make("div", {}, shown, reminder) : reminder;
    const help = make("div", { class: "hint", "aria-live": "polite" });
    const offer = (hint) => {
      const asked = help.contains(document.activeElement); // its button goes, so the hint takes the focus
      help.replaceChildren(...hintParts(hint, screen.id, act));
      if (asked) help.querySelector("p")?.focus();
    };
    offer(screen.hint);
    return {
      content: beside(left, make("div", { class: "text" }, answer.element, screen.given ? make("p", { class: "aside" }, screen.given) : null, help)),
      offer,
      read() {
        const { value, error, at } = answer.value();
        return error ? { error, at } : { action: { decision: screen.id, value } };
      },
      draft: () => answer.value().value,
      restore: (value) => answer.restore(value),
      first: answer.element.querySelector("input, select, button:not(:disabled)"),
    };
  },

  consequence(screen, words) {
    const said = make("div", { class: "text" }, paragraphs(screen.said, "lead"));
    const yours = saidParts(words.your_answer, screen.your_answer, screen.ordered);
    const right = saidParts(words.right_answer, screen.reason, screen.ordered);
    // Two long lists stand beside each other, so that they can be compared and the pictures are near.
    const long = screen.ordered && right;
    const answers = long
      ? beside(make("div", { class: "text" }, yours), make("div", { class: "text" }, right))
      : make("div", { class: "text" }, yours, right);
    const pictures = [screen.before, screen.after].map((each) => picture(each)).filter(Boolean);
    // One picture stands beside all the words; two stand below them, beside each other.
    const alone = pictures.length === 1;
    return {
      content: [
        alone ? beside(make("div", {}, said, answers), pictures[0]) : long ? [said, answers] : beside(said, answers),
        pictures.length > 1 ? make("div", { class: "pair" }, pictures) : null,
        figureTable(screen.figures ?? [], screen.heads, words, words.figures),
        basisList(screen.basis ?? [], words),
      ].flat(),
    };
  },

  summary(screen, words, act) {
    const section = (heading, items) => (items?.length ? [make("h2", {}, heading), list(items)] : []);
    const practise = (screen.practise ?? []).map((item) => make("li", {}, lessonDoor(item, act)));
    const text = make(
      "div", { class: "text" },
      (screen.stations ?? []).map((station) => stationLine(station)),
      section(words.strengths, screen.strengths),
      section(words.weak, (screen.weak ?? []).map(({ text, then }) => [text, then ? make("span", { class: "then" }, then) : null])),
    );
    const beyond = make(
      "div", { class: "text" },
      picture(screen.picture),
      paragraphs(screen.ended ?? ""),
      section(words.reached, screen.reached),
      practise.length ? [make("h2", {}, words.practise), make("ul", { class: "doors" }, practise)] : null,
    );
    return { content: beside(text, beyond) };
  },

  what_if(screen, words) {
    return {
      content: [
        make("div", { class: "text" }, screen.said.flatMap((line) => paragraphs(line))),
        make("div", { class: "pair" }, picture(screen.before), picture(screen.after)),
        figureTable(screen.figures, screen.heads, words, words.figures_at_end),
        make("div", { class: "text" }, screen.then.flatMap((line) => paragraphs(line))),
      ],
    };
  },

  receipt(screen) {
    return { content: [make("p", { class: "code" }, screen.code), ...screen.lines.flatMap((line) => paragraphs(line))] };
  },

  problem(screen) {
    return { content: [...paragraphs(screen.what, "lead"), ...paragraphs(screen.remedy)] };
  },
};

// Each language by its own name, so that whoever reads only that one finds it.
function languageChoice(screen, act) {
  if ((screen.languages ?? []).length < 2) return null;
  const buttons = screen.languages.map(({ id, label }) => make(
    "button",
    {
      type: "button", class: "other", lang: id, "aria-pressed": String(id === screen.language),
      onclick: () => act({ do: "language", id }),
    },
    label,
  ));
  return make("div", { class: "languages" }, buttons);
}

// The offer of a hint with its price, or the hint; asking keeps what is already chosen.
function hintParts(hint, decision, act) {
  if (!hint) return [];
  if (hint.text) return [make("p", { tabindex: "-1" }, make("strong", {}, hint.label), " ", hint.text)];
  const costs = freshId("costs");
  const ask = { type: "button", class: "other", "aria-describedby": costs, onclick: () => act({ do: "hint", decision }) };
  return [make("button", ask, hint.label), make("span", { class: "help", id: costs }, hint.costs)];
}

// One part stands behind its label; several stand as a list below it, numbered when their order counts.
function saidParts(label, parts, ordered) {
  if (!parts?.length) return null;
  if (parts.length === 1) return make("p", {}, make("strong", {}, label), " ", parts[0]);
  const items = parts.map((part) => make("li", {}, part));
  return [make("p", { class: "named" }, make("strong", {}, label)), make(ordered ? "ol" : "ul", { class: "parts" }, items)];
}

function beside(left, right) {
  return left && right ? make("div", { class: "beside" }, left, right) : left ?? right;
}

function figureTable(figures, [before, after], words, caption) {
  if (figures.length === 0) return null;
  const cell = (text, heading, word = "") =>
    make("td", { "data-heading": heading }, text, word ? make("strong", { class: "over" }, ` ${word}`) : null);
  return make(
    "table", { class: "figures" },
    make("caption", {}, caption),
    make("thead", {}, make("tr", {}, [words.what, before, after, words.limit].map(
      (text) => make("th", { scope: "col" }, text)))),
    make("tbody", {}, figures.map((figure) => make(
      "tr", {},
      make("th", { scope: "row" }, figure.label),
      cell(`${figure.before} ${figure.unit}`, before, figure.before_is),
      cell(`${figure.after} ${figure.unit}`, after, figure.after_is),
      cell(figure.limit, words.limit),
    ))),
  );
}

function basisList(basis, words) {
  if (basis.length === 0) return null;
  return make(
    "details", { class: "basis" },
    make("summary", {}, words.basis),
    make("ul", {}, basis.map((each) => make(
      "li", {}, make("span", { lang: "en" }, each.text), " ", // the facts are told in English only
      make("span", { class: "source" }, [each.source, each.status].filter(Boolean).join(" · ")),
    ))),
  );
}

// What the words of the trade on this screen mean; closed, so that it is there and not in the way.
function termList(terms, words) {
  if (!terms?.length) return null;
  return make(
    "details", { class: "basis terms" },
    make("summary", {}, words.terms),
    make("dl", {}, terms.flatMap(({ term, said }) => [make("dt", {}, term), make("dd", {}, said)])),
  );
}

// A lesson to practise next: pressed, opened by its address, or only named where neither is there.
function lessonDoor({ id, title, why, do: verb, to }, act) {
  const inside = [make("span", { class: "title" }, title), make("span", { class: "detail" }, why)];
  if (verb) return make("button", { type: "button", class: "door", "data-id": id, onclick: () => act({ do: verb, id }) }, inside);
  return to ? make("a", { class: "door", href: to }, inside) : make("div", {}, inside);
}

// Share with its interval as a line: the length says how sure the figure is.
function stationLine(station) {
  const share = (value) => `${Math.round(1000 * value) / 10}%`;
  const bar = station.low === null || station.low === undefined
    ? null
    : make(
      "div", { class: "span", "aria-hidden": "true" },
      make("span", { class: "reach", style: `left:${share(station.low)};right:${share(1 - station.high)}` }),
      make("span", { class: "point", style: `left:${share(station.share)}` }),
      make("span", { class: "end" }, "0 %"),
      make("span", { class: "end full" }, "100 %"),
    );
  return make(
    "div", { class: "station" },
    make("p", { class: "station-words" }, make("strong", {}, station.station), " ", station.said),
    bar,
  );
}
