// The form of one kind of note, made from what the server knows of its entries.
import { button, buzz, cap, make } from "./dom.js";
import { limitsTold, shown, steps, stored } from "./units.js";

let made = 0;

/**
 * A form's entries. Returns the element and `read()` → { values, faults }; a fault has the field's
 * label, words, and whether "I mean it" overrules it.
 */
export function entriesOf(fields, filled = {}, carry = {}) {
  const entries = fields.map((field) => [field, entry(field, filled[field.name] ?? carry[field.name] ?? field.default ?? undefined)]);
  const byName = Object.fromEntries(entries.map(([field, its]) => [field.name, its]));
  for (const [field, its] of entries) {
    if (field.depends_on && byName[field.depends_on]) {
      const other = byName[field.depends_on];
      const follow = () => its.follow(other.read());
      other.element.addEventListener("input", follow);
      follow();
    }
  }
  return {
    element: make("div", { class: "entries" }, entries.map(([, its]) => its.element)),
    read: () => readAll(entries),
  };
}

function readAll(entries) {
  const values = {};
  const faults = [];
  for (const [field, its] of entries) {
    const value = its.read();
    if (value instanceof Error) faults.push({ label: field.label, words: value.message, overrulable: false });
    else if (value === undefined) {
      if (field.needed) faults.push({ label: field.label, words: "is still open", overrulable: false });
    } else {
      values[field.name] = value;
      faults.push(...limitFaults(field, value));
    }
  }
  return { values, faults };
}

/** Faults of a value against its limits, before it is kept; the register looks again. */
function limitFaults(field, value) {
  const numbers = typeof value === "number" ? [value] : field.shape === "counts" ? Object.values(value) : [];
  for (const number of numbers) {
    const outside = (limits) => limits && (number < limits[0] - 1e-9 || number > limits[1] + 1e-9);
    if (outside(field.possible)) return [{ label: field.label, words: `can only be ${limitsTold(field, field.possible)}`, overrulable: false }];
    if (outside(field.usual)) return [{ label: field.label, words: `is usually ${limitsTold(field, field.usual)}`, overrulable: true }];
  }
  return [];
}

const SHAPES = { number: stepper, count: stepper, "yes or no": yesOrNo, choice, choices, counts, parts, note: chosenNote };

function entry(field, value) {
  if (field.choices_by) return stage(field, value);
  return (SHAPES[field.shape] ?? text)(field, value);
}

function framed(field, ...inside) {
  const legend = make("legend", {}, cap(field.label), field.needed ? "" : make("small", {}, " (may stay open)"));
  return make("fieldset", { class: "entry", "data-entry": field.name }, legend, field.hint ? make("p", { class: "hint" }, field.hint) : null, ...inside);
}

function fire(element) {
  element.dispatchEvent(new Event("input", { bubbles: true }));
}

/** A number between small and large steps; typing it is possible too. */
function stepper(field, value) {
  const id = `entry-${(made += 1)}`;
  const box = make("input", { id, type: "text", inputmode: field.shape === "count" ? "numeric" : "decimal", autocomplete: "off", "aria-label": `${field.label} ${field.unit}`.trim() });
  if (typeof value === "number") box.value = String(shown(field, value));
  const start = field.usual && field.usual[0] > 0 ? shown(field, field.usual[0]) : 0;
  const [small, large] = steps(field);
  const step = (by) => button(by > 0 ? `+${by}` : `−${-by}`, () => {
    const now = parsed(box.value);
    const next = (Number.isFinite(now) ? now : field.shape === "count" ? 0 : start) + by;
    box.value = String(Number(Math.max(field.possible && shown(field, field.possible[0]) >= 0 ? 0 : -Infinity, next).toFixed(6)));
    buzz(8);
    fire(box);
  }, { class: "step", "aria-label": `${field.label}: ${by > 0 ? "more" : "less"} by ${Math.abs(by)}` });
  const row = make("div", { class: "stepper" }, step(-large), step(-small), make("span", { class: "value" }, box, field.unit ? make("span", { class: "unit" }, field.unit) : null), step(small), step(large));
  return { element: framed(field, row), read: () => numberIn(field, box.value) };
}

function parsed(typed) {
  const told = typed.trim().replace(",", ".").replace("\u2212", "-");
  return told === "" ? undefined : Number(told);
}

function numberIn(field, typed) {
  const number = parsed(typed);
  if (number === undefined) return undefined;
  if (!Number.isFinite(number)) return new Error(`is ${JSON.stringify(typed)}, expected a number`);
  if (field.shape === "count" && !Number.isInteger(number)) return new Error(`is ${number}, expected a whole number`);
  return stored(field, number);
}

/** Large buttons of which one holds; pressed again, none does. */
function buttons(options, value, label, changed) {
  let held = value;
  const group = make("div", { class: "options", role: "group", "aria-label": label });
  const show = () => [...group.children].forEach((one, k) => one.setAttribute("aria-pressed", String(options[k][0] === held)));
  group.append(...options.map(([key, words]) => button(words, () => { held = held === key ? undefined : key; buzz(8); show(); changed(); }, { class: "option" })));
  show();
  return { group, read: () => held };
}

function choice(field, value) {
  const its = buttons(field.choices, value, field.label, () => fire(element));
  const element = framed(field, its.group);
  return { element, read: its.read };
}

function yesOrNo(field, value) {
  const words = field.name === "reached" ? [[true, "reached"], [false, "not yet"]] : [[true, "yes"], [false, "no"]];
  const its = buttons(words, value, field.label, () => fire(element));
  const element = framed(field, its.group);
  return { element, read: its.read };
}

function choices(field, value) {
  const held = new Set(value ?? []);
  const group = make("div", { class: "options", role: "group", "aria-label": field.label });
  for (const [key, words] of field.choices) {
    const one = button(words, () => { if (!held.delete(key)) held.add(key); one.setAttribute("aria-pressed", String(held.has(key))); fire(group); }, { class: "option", "aria-pressed": String(held.has(key)) });
    group.append(one);
  }
  return { element: framed(field, group), read: () => (held.size ? [...held] : undefined) };
}

/** Stages that an organ shows, in words; any other by its number. */
function stage(field, value) {
  const place = make("div", {});
  const other = stepper({ ...field, label: "other stage (BBCH number)", choices_by: null, needed: false, hint: "" }, undefined);
  const more = make("details", {}, make("summary", {}, "Another stage"), other.element);
  let its = null;
  let held = value;
  const follow = (organ) => {
    held = its?.read() ?? held;
    const options = field.choices_by[organ] ?? [];
    if (!options.some(([key]) => key === held)) held = undefined;
    its = buttons(options, held, field.label, () => { held = its.read(); fire(place); });
    place.replaceChildren(options.length ? its.group : make("p", { class: "hint" }, "Choose the organ first, or give a number below."));
  };
  follow(undefined);
  return { element: framed(field, place, more), follow, read: () => other.read() ?? its.read() };
}

/** Counts by age, year or class, each with its own stepper. */
function counts(field, value) {
  const year = new Date().getFullYear();
  const keys = { age: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12], year: Array.from({ length: 13 }, (_, k) => year - k), choice: field.choices.map(([key]) => key) }[field.keys];
  const all = [...new Set([...keys.map(String), ...Object.keys(value ?? {})])];
  const its = all.map((key) => [key, small(`${field.label} ${key}`, key, value?.[key])]);
  const total = make("output", {}, "0");
  const sum = () => { total.textContent = String(its.reduce((n, [, one]) => n + (one.read() ?? 0), 0)); };
  const body = make("div", { class: "counts", input: sum }, its.map(([, one]) => one.element));
  sum();
  const details = make("details", { open: Boolean(value) }, make("summary", {}, "Count"), body, make("p", { class: "hint" }, "Together: ", total));
  return {
    element: framed(field, details),
    read: () => {
      const told = Object.fromEntries(its.map(([key, one]) => [key, one.read()]).filter(([, n]) => n !== undefined));
      return Object.keys(told).length ? told : undefined;
    },
  };
}

function small(label, key, value) {
  const box = make("input", { type: "text", inputmode: "numeric", autocomplete: "off", "aria-label": label });
  if (value !== undefined) box.value = String(value);
  const by = (n) => button(n > 0 ? "+" : "−", () => { box.value = String(Math.max(0, (parsed(box.value) || 0) + n)); buzz(8); fire(box); }, { class: "step", "aria-label": `${label}: ${n > 0 ? "more" : "less"} by 1` });
  const number = () => { const n = parsed(box.value); return n === undefined || !Number.isInteger(n) || n < 0 ? undefined : n; };
  return { element: make("div", { class: "count" }, make("span", { class: "key" }, key), by(-1), box, by(1)), read: number };
}

/** Several parts of one note: canes cut, nuts of a sample. */
function parts(field, value) {
  const list = make("div", { class: "parts" });
  const all = [];
  const add = (filled = {}) => {
    const its = entriesOf(field.parts, filled);
    const box = make("div", { class: "part" }, its.element, button("Leave this one out", () => { all.splice(all.indexOf(its), 1); box.remove(); }));
    all.push(its);
    list.append(box);
  };
  (value?.length ? value : [{}]).forEach(add);
  const read = () => {
    const told = all.map((its) => its.read());
    const fault = told.flatMap((one) => one.faults).find((one) => !one.overrulable);
    if (fault) return new Error(`${fault.label} ${fault.words}`);
    return told.length ? told.map((one) => one.values) : undefined;
  };
  return { element: framed(field, list, button("One more", () => add(all.at(-1)?.read().values))), read };
}

/** One of the notes that this one refers to, such as the cross that was made. */
function chosenNote(field, value) {
  const its = buttons(field.choices, value, field.label, () => fire(element));
  const none = make("p", { class: "hint" }, "No cross of the last year is on this phone for this shrub.");
  const element = framed(field, field.choices.length ? its.group : none);
  return { element, read: its.read };
}

function text(field, value) {
  const long = field.name === "remark" || field.name === "source";
  const box = make(long ? "textarea" : "input", { autocomplete: "off", "aria-label": field.label, rows: long ? 3 : null, maxlength: long ? 4000 : 120 });
  box.value = Array.isArray(value) ? value.join(", ") : value ?? "";
  const read = () => {
    const told = box.value.trim();
    if (!told) return undefined;
    if (!["words", "numbers"].includes(field.shape)) return told;
    const all = told.split(",").map((one) => one.trim()).filter(Boolean);
    if (field.shape === "words") return all;
    const numbers = all.map(Number);
    return numbers.every(Number.isInteger) ? numbers : new Error(`is ${JSON.stringify(told)}, expected whole numbers with commas`);
  };
  return { element: framed(field, box), read };
}
