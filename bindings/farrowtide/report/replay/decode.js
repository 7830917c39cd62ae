// Turns the whole numbers of the page back into times in seconds, and sorts them by sow.

export const FULL_ACCESS = -1;
const LISTED_AS_DIFFERENCES = {
  phases: ["t"], ill: ["from", "until"], piglets: ["born", "left"], moves: ["t"], meals: ["t"], duty: ["t"],
  climate: ["hour", "room", "setPoint", "outdoor"], work: ["from", "until"], entries: ["t"],
};

const summed = (differences) => {
  let sum = 0;
  return Float64Array.from(differences, (difference) => (sum += difference));
};

// The position of the last time that is not after t; -1 before the first. Times rise.
export const lastAt = (times, t) => {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (times[middle] <= t) low = middle + 1;
    else high = middle;
  }
  return low - 1;
};

// For each sow the positions of her rows.
const bySow = (sows, count) => {
  const rows = Array.from({ length: count }, () => []);
  sows.forEach((sow, row) => sow >= 0 && rows[sow].push(row));
  return rows;
};

const timesOf = (rows, times) => Float64Array.from(rows, (row) => times[row]);

// The most that is in any trough at any time, in grams: the height of all bars.
export const fullestTrough = (rooms) =>
  Math.max(1, ...rooms.flatMap((room) => room.troughs.map(({ g }) => g.reduce((most, grams) => Math.max(most, grams), 0))));

export const decode = (packed) => {
  const room = { name: packed.name, end: packed.end, sows: packed.sows };
  for (const [table, columns] of Object.entries(LISTED_AS_DIFFERENCES)) {
    room[table] = { ...packed[table] };
    for (const column of columns) room[table][column] = summed(packed[table][column]);
  }
  const count = packed.sows.number.length;
  room.troughs = packed.troughs.map(({ t, g }) => ({ t: summed(t), g: summed(g) }));
  room.eaten = summed(room.meals.g);
  room.longestWork = room.work.from.reduce((longest, from, work) => Math.max(longest, room.work.until[work] - from), 0);
  const rowsOf = (table, column) => bySow(room[table].sow, count).map((rows) => ({ rows, t: timesOf(rows, room[table][column]) }));
  room.phasesOf = rowsOf("phases", "t");
  room.mealsOf = rowsOf("meals", "t");
  room.entriesOf = rowsOf("entries", "t");
  room.illOf = rowsOf("ill", "from");
  room.movesOf = Array.from({ length: room.piglets.dam.length }, () => []);
  room.moves.piglet.forEach((piglet, move) => room.movesOf[piglet].push(move));
  return room;
};
