// What a room is like at one moment. Every number that the page shows comes from here.

import { FULL_ACCESS, lastAt } from "./decode.js";

const STILLBORN = 0;
const DIED = 1;
const SUMMED_AT_MIDNIGHT = "day balanced"; // nothing that happens
const MARK_LASTS_S = 20 * 60; // of what has just happened to a sow

// The sow that a piglet is with.
const withSow = (room, piglet, t) => {
  let sow = room.piglets.dam[piglet];
  for (const move of room.movesOf[piglet]) if (room.moves.t[move] <= t) sow = room.moves.to[move];
  return sow;
};

const litters = (room, t) => {
  const found = room.sows.number.map(() => ({ own: 0, movedIn: 0, died: 0, stillborn: 0 }));
  const { dam, born, left, fate } = room.piglets;
  let alive = 0;
  let died = 0;
  for (let piglet = 0; piglet < dam.length; piglet++) {
    if (born[piglet] > t) continue;
    if (fate[piglet] === STILLBORN) {
      found[dam[piglet]].stillborn++;
    } else if (left[piglet] > t) {
      alive++;
      const sow = withSow(room, piglet, t);
      found[sow][sow === dam[piglet] ? "own" : "movedIn"]++;
    } else if (fate[piglet] === DIED) {
      died++;
      found[withSow(room, piglet, t)].died++;
    }
  }
  return { found, alive, died };
};

const workAt = (room, t) => {
  const { from, until, kind, sow, kinds } = room.work;
  const found = [];
  for (let work = lastAt(from, t); work >= 0 && t - from[work] < room.longestWork; work--) {
    if (until[work] > t) found.push({ kind: kinds[kind[work]], at: sow[work] });
  }
  return found.reverse();
};

const isEating = (room, sow, t) => {
  const { rows, t: times } = room.mealsOf[sow];
  const last = lastAt(times, t);
  return last >= 0 && t < times[last] + room.meals.s[rows[last]];
};

// The kind of the last event at a sow, while it is recent.
const markOf = (room, sow, t) => {
  const { rows, t: times } = room.entriesOf[sow];
  for (let last = lastAt(times, t); last >= 0 && t - times[last] < MARK_LASTS_S; last--) {
    const kind = room.entries.kind[rows[last]];
    const name = room.entries.kinds[kind];
    if (!room.entries.works[kind] && name !== SUMMED_AT_MIDNIGHT) return name;
  }
  return "";
};

export const stateAt = (room, t) => {
  const { found, alive, died } = litters(room, t);
  const sows = room.sows.number.map((number, sow) => {
    const phases = room.phasesOf[sow];
    const phase = lastAt(phases.t, t);
    const ill = room.illOf[sow];
    const fell = lastAt(ill.t, t);
    const trough = room.troughs[sow];
    const level = lastAt(trough.t, t);
    return {
      number,
      parity: room.sows.parity[sow],
      phase: phase < 0 ? 0 : room.phases.phase[phases.rows[phase]],
      ill: fell >= 0 && room.ill.until[ill.rows[fell]] > t,
      eating: isEating(room, sow, t),
      troughGrams: level < 0 ? 0 : trough.g[level],
      fullAccess: level >= 0 && trough.g[level] === FULL_ACCESS,
      litter: found[sow],
      mark: markOf(room, sow, t),
    };
  });
  const hour = lastAt(room.climate.hour, t / 3600);
  const duty = lastAt(room.duty.t, t);
  const meal = lastAt(room.meals.t, t);
  return {
    sows,
    piglets: alive,
    died,
    eatenKg: meal < 0 ? 0 : room.eaten[meal] / 1000,
    roomDegC: hour < 0 ? NaN : room.climate.room[hour] / 100,
    setPointDegC: hour < 0 ? NaN : room.climate.setPoint[hour] / 100,
    outdoorDegC: hour < 0 ? NaN : room.climate.outdoor[hour] / 100,
    onDuty: duty < 0 ? 0 : room.duty.people[duty],
    work: workAt(room, t),
  };
};
