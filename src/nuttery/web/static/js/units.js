// Values as stored and as shown, by what the form knows of each entry.

/** Value to show for a stored one. */
export function shown(field, stored) {
  return Number((stored / field.factor + field.offset).toFixed(Math.max(field.digits, 0) + 2));
}

/** Value to store for a shown one; rounded so that 1.1 lb does not end in a tail of digits. */
export function stored(field, value) {
  if (field.shape === "count") return Math.round(value);
  return Number(((value - field.offset) * field.factor).toPrecision(12));
}

/** Two steps for a stepper, small and large, as shown. */
export function steps(field) {
  if (field.shape === "count") return [1, (field.usual?.[1] ?? 9) > 50 ? 10 : 5];
  const [low, high] = (field.usual ?? field.possible ?? [0, 10]).map((limit) => shown(field, limit));
  const power = 10 ** Math.floor(Math.log10((high - low) / 6));
  const least = 10 ** -field.digits;
  const small = Math.max(power / 10, least);
  return [small, power > small ? power : 10 * small];
}

/** Limits as shown, in words. */
export function limitsTold(field, limits) {
  return `${limits.map((limit) => trimmed(shown(field, limit))).join(" to ")} ${field.unit}`.trim();
}

function trimmed(number) {
  return String(Number(number.toPrecision(3)));
}

/** An entry's value in words. */
export function valueTold(field, value) {
  if (field.shape === "yes or no") return value ? "yes" : "no";
  if (field.shape === "number") return `${Number(shown(field, value).toFixed(field.digits))} ${field.unit}`.trim();
  if (field.shape === "counts") return Object.entries(value).map(([key, n]) => `${n} of ${key}`).join(", ");
  if (field.shape === "parts") return value.map((part) => field.parts.filter((f) => part[f.name] !== undefined).map((f) => valueTold(f, part[f.name])).join(" ")).join("; ");
  if (Array.isArray(value)) return value.join(", ");
  const choices = [...field.choices, ...Object.values(field.choices_by ?? {}).flat()];
  return choices.find(([key]) => key === value)?.[1] ?? String(value);
}

/** A whole note in words. */
export function noteTold(form, note) {
  const said = form.fields
    .filter((field) => note[field.name] !== undefined && !(field.name === "stage" && note.reached === undefined))
    .map((field) => (field.shape === "yes or no" ? (note[field.name] ? field.label : `not ${field.label}`) : labelled(field, note[field.name], form, note)));
  return said.length ? `${form.title}: ${said.join(", ")}` : form.title;
}

function labelled(field, value, form, note) {
  if (field.name === "stage") return stageTold(field, value, note.organ);
  const told = valueTold(field, value);
  return ["choice", "parts"].includes(field.shape) || form.title.startsWith(field.label) ? told : `${field.label} ${told}`;
}

function stageTold(field, value, organ) {
  return (field.choices_by?.[organ] ?? []).find(([stage]) => stage === value)?.[1] ?? `stage ${value}`;
}
