// Births and deaths along the clock, and the way to the next event of a kind.

import { drawn } from "./crate.js";
import { DAY_S, dayOf } from "./words.js";

const MARKS = { "piglet born": "birth", "piglet died": "death", "sow died": "death" };
const WIDTH = 1000;

// One row of marks for each room.
export const drawMarks = (svg, rooms, end) => {
  const height = 10 + 14 * rooms.length;
  svg.setAttribute("viewBox", `0 0 ${WIDTH} ${height}`);
  svg.style.height = `${height}px`;
  const x = (t) => ((WIDTH * t) / end).toFixed(1);
  let days = "";
  for (let day = 0; day <= dayOf(end); day++) days += `M${x(day * DAY_S)} 0v${height}`;
  drawn("path", { class: "days", d: days }, svg);
  rooms.forEach((room, i) => {
    const paths = { birth: "", death: "" };
    room.entries.kind.forEach((kind, row) => {
      const mark = MARKS[room.entries.kinds[kind]];
      if (mark) paths[mark] += `M${x(room.entries.t[row])} ${8 + 14 * i + (mark === "death" ? 6 : 0)}v5`;
    });
    for (const [mark, d] of Object.entries(paths)) drawn("path", { class: mark, d }, svg);
  });
};

// What the list of kinds offers: [group, [[kind, count], ...]], events before work.
export const kindsOf = (rooms) => {
  const groups = [["Events", new Map()], ["Work begun", new Map()]];
  for (const { entries } of rooms) {
    for (const kind of entries.kind) {
      const counts = groups[entries.works[kind] ? 1 : 0][1];
      counts.set(entries.kinds[kind], (counts.get(entries.kinds[kind]) ?? 0) + 1);
    }
  }
  return groups.map(([group, counts]) => [group, [...counts].sort(([a], [b]) => (a < b ? -1 : 1))]);
};

// The time of the nearest event after t (direction 1) or before it (-1); null if there is none. The clock has whole minutes.
export const nextEvent = (rooms, t, direction, kind, sow) => {
  let nearest = null;
  for (const { entries, sows } of rooms) {
    for (let row = 0; row < entries.t.length; row++) {
      const time = Math.ceil(entries.t[row] / 60) * 60;
      if ((time - t) * direction <= 0 || entries.kinds[entries.kind[row]] !== kind) continue;
      if (sow !== null && sows.number[entries.sow[row]] !== sow) continue;
      if (nearest === null || (nearest - time) * direction > 0) nearest = time;
    }
  }
  return nearest;
};
