// Switches, sliders and choices. Every text of the document goes in as textContent.

const BENCH = DATA.bench;
const GROUPS = [["plates", "Boxing plates of the parts"], ["walls", "Walls of the sections"],
  ["wear", "Wear"], ["ties", "Ties to the body"]];
const SORTS = [["part", "Parts fitted"], ["wear", "Wear that counts"], ["tie", "Ties fitted"]];

const written = (value, unit) => `${Number(value.toPrecision(6))} ${unit}`;

function startChoice() {
  return { case: BENCH.cases[0].name, switches: { ...BENCH.start.switches }, values: {}, mounts: BENCH.start.mounts || null };
}

class Controls {
  // `changed` is called after every change with the choice that it makes.
  constructor(home, changed) {
    this.choice = startChoice();
    this.changed = changed;
    this.rows = new Map(); this.boxes = new Map(); this.number = 0;
    this.menus(home);
    const [parts, ...others] = SORTS;
    this.switches(home, parts);
    for (const group of GROUPS.slice(0, 2)) this.sliders(home, group);
    for (const sort of others) this.switches(home, sort);
    for (const group of GROUPS.slice(2)) this.sliders(home, group);
    const back = add(home, "button", "Back to the start");
    back.type = "button"; back.id = "back";
    back.addEventListener("click", () => { this.choice = { ...startChoice(), case: this.choice.case }; this.write(); this.changed(); });
    this.write();
  }

  group(home, title) { const set = add(home, "fieldset"); add(set, "legend", title); return set; }

  menus(home) {
    const set = this.group(home, "Load case");
    this.cases = add(set, "select");
    this.cases.id = "case";
    this.cases.setAttribute("aria-label", "Load case");
    for (const one of BENCH.cases) add(this.cases, "option", one.title).value = one.name;
    this.cases.addEventListener("change", () => { this.choice.case = this.cases.value; this.changed(); });
    if (!BENCH.grades.length) return;
    const other = this.group(home, `Mounts of the body (${BENCH.body})`);
    this.grades = add(other, "select");
    this.grades.id = "mounts";
    this.grades.setAttribute("aria-label", "Grade of the mounts");
    add(this.grades, "option", "as the document has them").value = "";
    for (const name of BENCH.grades) add(this.grades, "option", `all ${name}`).value = name;
    this.grades.addEventListener("change", () => { this.choice.mounts = this.grades.value || null; this.changed(); });
  }

  switches(home, [sort, title]) {
    const mine = BENCH.switches.filter((s) => s.sort === sort);
    if (!mine.length) return;
    const set = this.group(home, title);
    for (const one of mine) {
      const row = add(set, "label", undefined, "switch"), box = add(row, "input");
      box.type = "checkbox"; box.setAttribute("role", "switch"); box.dataset.key = one.key;
      const text = add(row, "span", one.label);
      if (one.about) add(text, "small", one.about);
      box.addEventListener("change", () => { this.choice.switches[one.key] = box.checked; this.idle(); this.changed(); });
      this.boxes.set(one.key, { one, box });
    }
  }

  sliders(home, [group, title]) {
    const mine = BENCH.sliders.filter((s) => s.group === group);
    if (!mine.length) return;
    const set = this.group(home, title);
    for (const one of mine) this.slider(set, one);
  }

  slider(set, one) {
    const row = add(set, "div", undefined, "slider"), label = add(row, "label", one.label);
    const range = add(row, "input"), text = add(row, "input"), back = add(row, "button", "\u21ba");
    range.type = "range"; text.type = "text"; back.type = "button";
    range.id = `slide-${++this.number}`; label.htmlFor = range.id; range.dataset.path = one.path;
    text.dataset.typed = one.path;
    text.setAttribute("aria-label", `${one.label}, typed with its unit`);
    back.setAttribute("aria-label", `${one.label}: back to ${written(one.value, one.unit)}`);
    back.title = `back to ${written(one.value, one.unit)}`;
    text.autocomplete = "off"; text.spellcheck = false;
    if (one.by_factor) { range.min = Math.log(one.low); range.max = Math.log(one.high); range.step = Math.log(one.high / one.low) / 100; }
    else { range.min = one.low; range.max = one.high; range.step = one.step; }
    range.addEventListener("input", () => {
      const at = Number(range.value);
      // by factors in three figures, else in whole steps: what is shown is what is solved
      const value = one.by_factor ? Number(Math.exp(at).toPrecision(3)) : Number((Math.round(at / one.step) * one.step).toFixed(3));
      this.put(one, written(value, one.unit));
    });
    text.addEventListener("change", () => this.put(one, text.value.trim(), text));
    back.addEventListener("click", () => { delete this.choice.values[one.path]; this.writeRow(one.path); this.changed(); range.focus(); });
    this.rows.set(one.path, { one, row, range, text, back });
  }

  put(one, value, typed) {
    if (value === "" || value === written(one.value, one.unit)) delete this.choice.values[one.path];
    else this.choice.values[one.path] = value;
    if (!typed) this.writeRow(one.path);
    this.changed(typed && one.path);
  }

  // Show the choice on all controls; a figure that was refused stays to be mended.
  write(refused) {
    this.cases.value = this.choice.case;
    if (this.grades) this.grades.value = this.choice.mounts || "";
    for (const { one, box } of this.boxes.values()) box.checked = this.choice.switches[one.key] ?? one.on;
    for (const path of this.rows.keys()) this.writeRow(path, path === refused);
    this.idle();
  }

  writeRow(path, refused) {
    const { one, row, range, text, back } = this.rows.get(path);
    const now = this.choice.values[path] ?? written(one.value, one.unit);
    text.setAttribute("aria-invalid", String(Boolean(refused)));
    if (!refused) text.value = now;
    range.setAttribute("aria-valuetext", now);
    row.classList.toggle("changed", path in this.choice.values);
    back.disabled = !(path in this.choice.values);
    back.style.visibility = back.disabled ? "hidden" : "visible";
    // a figure in another unit leaves the knob where it is: only the server reads units
    const plain = now.endsWith(` ${one.unit}`) ? parseFloat(now) : NaN;
    if (Number.isFinite(plain)) range.value = one.by_factor ? Math.log(plain) : plain;
  }

  // A slider of what is not fitted changes nothing, and says so.
  idle() {
    for (const { one, row, range, text } of this.rows.values()) {
      const held = one.needs && BENCH.switches.find((s) => s.key === one.needs);
      const off = Boolean(held) && !(this.choice.switches[one.needs] ?? held.on);
      row.classList.toggle("idle", off);
      range.disabled = off; text.disabled = off;
      row.title = off ? "not fitted: switch it on first" : "";
    }
  }
}
