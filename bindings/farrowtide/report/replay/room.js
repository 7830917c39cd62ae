// A room: its numbers, the aisle with the people, and the crates on both sides of it.

import { Crate, made } from "./crate.js";
import { stateAt } from "./state.js";
import { counted, quantity, roomInWords, sowInWords, workOf } from "./words.js";

const NUMBERS = {
  temperature: "Room", outdoor: "Outdoors", piglets: "Piglets alive", died: "Piglets died", eaten: "Feed eaten so far",
  people: "People on duty", work: "People busy",
};

export class RoomPlan {
  constructor(room, parent, { phases, units, fullest, choose }) {
    Object.assign(this, { room, phases, units, fullest });
    const section = made("section", "room", parent);
    made("h2", "", section, room.name);
    const list = made("dl", "numbers", section);
    this.numbers = {};
    for (const [key, label] of Object.entries(NUMBERS)) {
      const pair = made("div", "", list);
      made("dt", "", pair, label);
      this.numbers[key] = made("dd", "", pair);
      this.numbers[key].dataset.number = key;
    }
    const half = Math.ceil(room.sows.number.length / 2);
    const banks = [made("div", "bank", section), made("p", "aisle", section), made("div", "bank", section)];
    this.aisle = banks[1];
    this.crates = room.sows.number.map((number, i) => new Crate(number, banks[i < half ? 0 : 2], choose));
  }

  show(t) {
    const state = stateAt(this.room, t);
    const { kg, degC } = this.units;
    const shown = {
      temperature: `${quantity(state.roomDegC, degC)} (set point ${quantity(state.setPointDegC, degC)})`,
      outdoor: quantity(state.outdoorDegC, degC),
      piglets: String(state.piglets),
      died: String(state.died),
      eaten: quantity(state.eatenKg, kg),
      people: String(state.onDuty),
      work: String(state.work.length),
    };
    for (const [key, text] of Object.entries(shown)) this.write(this.numbers[key], text);
    const free = Math.max(0, state.onDuty - state.work.length);
    const people = [...workOf(state), ...(free ? [`${counted(free, "person", "people")} free`] : [])];
    this.write(this.aisle, people.length ? people.join("; ") : "nobody on duty");
    state.sows.forEach((sow, i) => {
      const tasks = state.work.filter((work) => work.at === i).map((work) => work.kind);
      this.crates[i].show(sow, this.phases, this.fullest, tasks, kg);
    });
    this.state = state;
  }

  write(element, text) {
    if (element.textContent !== text) element.textContent = text;
  }

  // For a screen reader: not while the clock runs.
  describe(chosen) {
    this.state.sows.forEach((sow, i) => this.crates[i].describe(sowInWords(sow, this.phases, this.units.kg), sow.number === chosen));
    return roomInWords(this.room.name, this.state, this.phases, this.units);
  }
}
