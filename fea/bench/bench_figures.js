// The figures: now, as started and as pinned, the sheet-metal figure beside the quick one.

const pins = [];
let sheet = null; // the last figures by sheet metal, and of which choice

const four = (value) => Math.abs(value) >= 1000 ? whole(value) : String(Number(value.toPrecision(4))).replace("-", "\u2212");
const percent = (part) => `${part < 0 ? "\u2212" : "+"}${Math.abs(100 * part).toFixed(1)} %`;
// One choice, one text: the case shown does not change what is solved.
const sameness = (choice) => JSON.stringify([Object.entries(choice.switches).sort(), Object.entries(choice.values).sort(), choice.mounts]);

function cell(row, text, small, kind) {
  const made = add(row, "td", text, kind);
  if (small) add(made, "small", small);
  return made;
}

function writeFigures(found, start, onDrop) {
  const table = document.getElementById("compared"), head = table.tHead, body = table.tBodies[0];
  const besides = [start, ...pins];
  head.replaceChildren(); body.replaceChildren();
  const top = add(head, "tr");
  for (const text of ["", "now"]) add(top, "th", text).scope = "col";
  besides.forEach((one, k) => {
    const th = add(top, "th", one.name);
    th.scope = "col";
    if (k === 0) return;
    th.title = one.told;
    const drop = add(th, "button", "\u00d7");
    drop.type = "button"; drop.setAttribute("aria-label", `drop ${one.name}`);
    drop.addEventListener("click", () => onDrop(k - 1));
  });
  found.figures.forEach((figure, n) => {
    const row = add(body, "tr"), head = add(row, "th", figure.label);
    head.scope = "row";
    cell(row, figure.value === null ? "not measured" : `${four(figure.value)} ${figure.unit}`, figure.text, "now");
    for (const { cases } of besides) {
      const other = cases[found.case]?.figures[n].value ?? null;
      cell(row, other === null ? "\u2013" : four(other), figure.value !== null && other ? `now ${percent(figure.value / other - 1)}` : "");
    }
  });
}

function writeHeadline(found, choice) {
  const twist = found.figures.find((f) => f.key === "twist"), bend = found.figures.find((f) => f.key === "bending");
  const first = found.case === "bending" && bend.value !== null || twist.value === null ? bend : twist;
  const line = document.getElementById("headline");
  line.replaceChildren(first.value === null ? "\u2013" : four(first.value));
  add(line, "small", ` ${first.unit}`);
  document.getElementById("headline-label").textContent = `${first.label}, quick: joints by beam rules`;
  const trust = document.getElementById("trust");
  const known = sheet && sheet.quick[first.key] && sheet.sheet[first.key];
  const mine = known && sheet.of === sameness(choice);
  const off = known ? sheet.quick[first.key] / sheet.sheet[first.key] - 1 : 0;
  trust.classList.toggle("checked", Boolean(mine) && Math.abs(off) < 0.1);
  if (!known) trust.textContent = "Not yet set against joints as sheet metal. Beam rules can read a few per cent too stiff or more than half: ask for sheet metal before you rely on this figure.";
  else if (mine) trust.textContent = `By sheet metal ${four(sheet.sheet[first.key])} ${first.unit}, the figure to rely on: the quick one of this variant reads ${percent(off)}.`;
  else trust.textContent = `Not worked out by sheet metal as it stands. Where it last was, the quick figure read ${percent(off)}; ask again before you rely on this one.`;
}

function writeSheet(choice) {
  const table = document.getElementById("sheet-table");
  table.hidden = !sheet;
  if (!sheet) return;
  const stale = sheet.of !== sameness(choice);
  table.classList.toggle("stale", stale);
  table.tHead.replaceChildren(); table.tBodies[0].replaceChildren();
  const top = add(table.tHead, "tr");
  for (const text of [stale ? "of another variant" : "of this variant", "sheet metal", "quick", "quick reads"]) add(top, "th", text).scope = "col";
  for (const [key, label, unit] of [["twist", "Twist", "N m/deg"], ["bending", "Bending", "N/mm"]]) {
    if (sheet.sheet[key] === null) continue;
    const row = add(table.tBodies[0], "tr");
    add(row, "th", `${label}, ${unit}`).scope = "row";
    cell(row, four(sheet.sheet[key]), "", "now");
    cell(row, four(sheet.quick[key]));
    cell(row, percent(sheet.quick[key] / sheet.sheet[key] - 1));
  }
}

function writeMembers(found) {
  const table = document.querySelector("#members table");
  table.tHead.replaceChildren(); table.tBodies[0].replaceChildren();
  const top = add(table.tHead, "tr");
  for (const text of ["member", "sections", "highest stress, MPa", "of yield, %", "of the energy, %"]) add(top, "th", text).scope = "col";
  for (const m of found.members) {
    const row = add(table.tBodies[0], "tr");
    add(row, "th", m.part ? `${m.name} (${m.part})` : m.name).scope = "row";
    cell(row, m.sections.join(", "));
    cell(row, m.stress_mpa === null ? "\u2013" : figure(m.stress_mpa));
    cell(row, m.yield_percent === null ? "\u2013" : figure(m.yield_percent));
    cell(row, m.energy_percent.toFixed(1));
  }
}

// Over a member: what the stand-alone page tells of the place, and of the whole member.
const tellPlace = writeTip;
writeTip = (tip, wall, found) => {
  tellPlace(tip, wall, found);
  const name = DATA.walls.members[WALLS.member[wall]], member = DATA.members.find((m) => m.name === name);
  if (!member) return;
  if (member.stress_mpa !== null) add(tip, "span", `highest in ${name} ${figure(member.stress_mpa)} MPa, ${figure(member.yield_percent)} % of yield`);
  add(tip, "span", `${name} stores ${member.energy_percent.toFixed(1)} % of the energy`);
};
