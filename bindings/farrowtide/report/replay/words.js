// Numbers with their units, clock times, and a room in sentences.

const MINUS = "\u2212";
export const DAY_S = 86400;

export const inUnit = (value, unit) => {
  if (Number.isNaN(value)) return "\u2013";
  return (value * unit.factor + unit.offset).toFixed(unit.decimals).replace("-", MINUS);
};

export const quantity = (value, unit) => `${inUnit(value, unit)} ${unit.name}`;

const twoDigits = (number) => String(number).padStart(2, "0");

export const clockOf = (t) => `${twoDigits(Math.floor((t % DAY_S) / 3600))}:${twoDigits(Math.floor((t % 3600) / 60))}`;

export const dayOf = (t) => Math.floor(t / DAY_S);

export const dateOf = (start, t) => new Date(Date.parse(`${start}T00:00:00Z`) + dayOf(t) * DAY_S * 1000).toISOString().slice(0, 10);

export const momentOf = (start, t) => `Room day ${dayOf(t)}, ${dateOf(start, t)}, ${clockOf(t)}`;

export const counted = (count, one, many = `${one}s`) => `${count} ${count === 1 ? one : many}`;

export const workOf = (state) => state.work.map(({ kind, at }) => `${kind}${at >= 0 ? ` at sow ${state.sows[at].number}` : ""}`);

export const litterInWords = ({ own, movedIn, died, stillborn }) => {
  const parts = [counted(own + movedIn, "piglet")];
  if (movedIn) parts.push(`${movedIn} of them moved in`);
  if (died) parts.push(`${died} died`);
  if (stillborn) parts.push(`${stillborn} stillborn`);
  return parts.join(", ");
};

export const troughInWords = (sow, unit) => (sow.fullAccess ? "feed always there" : `${quantity(sow.troughGrams / 1000, unit)} in the trough`);

export const sowInWords = (sow, phases, unit) => {
  const present = phases[sow.phase];
  const parts = [`sow ${sow.number}, parity ${sow.parity}`, sow.ill ? `${present}, ill` : present];
  if (present === "farrowing" || present === "nursing" || sow.litter.own + sow.litter.movedIn > 0) parts.push(litterInWords(sow.litter));
  if (present !== "not here" && present !== "weaned" && present !== "died") parts.push(troughInWords(sow, unit));
  if (sow.eating) parts.push("eating");
  return parts.join("; ");
};

// The room for somebody who does not see the plan.
export const roomInWords = (name, state, phases, units) => {
  const doing = phases
    .map((phase, i) => [state.sows.filter((sow) => sow.phase === i).length, phase])
    .filter(([count]) => count)
    .map(([count, phase], i) => `${i ? count : counted(count, "sow")} ${phase}`);
  const ill = state.sows.filter((sow) => sow.ill).map((sow) => sow.number);
  const sentences = [
    `${name}: ${doing.join(", ")}`,
    ill.length ? `Ill: ${ill.length === 1 ? "sow" : "sows"} ${ill.join(", ")}` : "",
    `${counted(state.piglets, "piglet")} alive, ${state.died} died`,
    `${quantity(state.eatenKg, units.kg)} of feed eaten so far`,
    `${quantity(state.roomDegC, units.degC)} in the room, ${quantity(state.outdoorDegC, units.degC)} outdoors`,
    `${counted(state.onDuty, "person", "people")} on duty; ${state.work.length ? `at work: ${workOf(state).join(", ")}` : "nobody busy"}`,
  ];
  return `${sentences.filter(Boolean).join(". ")}.`;
};
