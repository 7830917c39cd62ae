// The chosen sow: how she is now, and everything that happened to her, in each room.

import { made } from "./crate.js";
import { lastAt } from "./decode.js";
import { clockOf, dayOf, sowInWords } from "./words.js";

const MEAL = /^(meal eaten|feed delivered|stale feed refused)$/;

export class SowPanel {
  constructor(rooms, parent, { phases, units, seek }) {
    Object.assign(this, { rooms, parent, phases, units, seek });
  }

  choose(number, withMeals) {
    this.parent.replaceChildren();
    this.columns = this.rooms.map((room) => this.column(room, number, withMeals)).filter(Boolean);
  }

  column(room, number, withMeals) {
    const sow = room.sows.number.indexOf(number);
    if (sow < 0) return null;
    const section = made("section", "story", this.parent);
    if (this.rooms.length > 1) made("h3", "", section, room.name);
    const now = made("p", "", section);
    const list = made("ol", "", section);
    list.tabIndex = 0;
    list.setAttribute("aria-label", `Events of sow ${number}, ${room.name}`);
    const { kind, kinds, t, words } = room.entries;
    const rows = room.entriesOf[sow].rows.filter((row) => withMeals || !MEAL.test(kinds[kind[row]]));
    const items = rows.map((row) => {
      const item = made("li", "", list);
      const time = made("button", "moment", item, `day ${dayOf(t[row])} ${clockOf(t[row])}`);
      time.type = "button";
      time.addEventListener("click", () => this.seek(t[row]));
      item.append(` ${words[row]}`);
      return item;
    });
    return { room, sow, now, list, items, times: rows.map((row) => t[row]) };
  }

  show(states) {
    for (const column of this.columns ?? []) {
      const last = lastAt(column.times, this.t);
      if (column.last !== last) {
        column.items[column.last]?.removeAttribute("aria-current");
        column.items[last]?.setAttribute("aria-current", "time");
        column.last = last;
      }
      const words = sowInWords(states.get(column.room).sows[column.sow], this.phases, this.units.kg);
      if (column.now.textContent !== words) column.now.textContent = words;
    }
  }

  // Brings the last event into view, which makes the browser lay out the page: not at every step.
  follow() {
    for (const { items, list, last } of this.columns ?? []) {
      if (items[last]) list.scrollTop = items[last].offsetTop - list.clientHeight / 2;
    }
  }
}
