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
    const none = found.painted || !["stress", "yield"].includes(figure.key) ? "not measured" : "\u2026";
    cell(row, figure.value === null ? none : `${four(figure.value)} ${figure.unit}`, figure.text, "now");
    for (const { cases } of besides) {
      const there = cases[found.case], other = there?.figures[n].value ?? null;
      // stress by beam rules is told along members, in sheet metal away from joints: not the same
      const alike = !["stress", "yield"].includes(figure.key) || there?.joints === found.joints;
      const change = alike ? `now ${percent(figure.value / other - 1)}` : "other joints";
      cell(row, other === null ? "\u2013" : four(other), figure.value !== null && other ? change : "");
    }
  });
}

// The figure that counts, how it came about and how far it is to be relied on.
function writeHeadline(found, choice, follow) {
  const twist = found.figures.find((f) => f.key === "twist"), bend = found.figures.find((f) => f.key === "bending");
  const first = found.case === "bending" && bend.value !== null || twist.value === null ? bend : twist;
  const line = document.getElementById("headline"), label = document.getElementById("headline-label");
  const estimate = found.estimates[first.key], exact = found.joints === "sheet";
  line.replaceChildren(first.value === null ? "\u2013" : (estimate ? "\u2248 " : "") + four(first.value));
  add(line, "small", ` ${first.unit}`);
  const trust = document.getElementById("trust");
  trust.classList.toggle("checked", exact);
  if (exact) {
    label.textContent = `${first.label}, joints as sheet metal`;
    trust.textContent = "The figure to rely on: the same as plumbrail run gives.";
  } else if (estimate) {
    label.textContent = `${first.label}, estimated, \u00b1\u00a0${(100 * estimate.error).toFixed(1)}\u00a0%`;
    trust.textContent = "Beam rules, set right by the nearest variant worked out by sheet metal; shape and profile are scaled to it, the stress is by beam rules. "
      + (follow ? "The exact figure takes its place once these joints are worked out." : "Ask for sheet metal before you rely on it.");
  } else {
    label.textContent = `${first.label}, quick: joints by beam rules`;
    trust.textContent = "Not yet set against joints as sheet metal. Beam rules can read a few per cent too stiff or more than half: "
      + (follow ? "the figure by sheet metal is being worked out." : "ask for sheet metal before you rely on this figure.");
    quickTrust(trust, first, choice);
  }
}

// Beam rules alone: what they were off by where sheet metal was asked for.
function quickTrust(trust, first, choice) {
  const known = sheet && sheet.quick[first.key] && sheet.sheet[first.key];
  if (!known) return;
  const mine = sheet.of === sameness(choice), off = sheet.quick[first.key] / sheet.sheet[first.key] - 1;
  trust.classList.toggle("checked", mine && Math.abs(off) < 0.1);
  if (mine) trust.textContent = `By sheet metal ${four(sheet.sheet[first.key])} ${first.unit}, the figure to rely on: the quick one of this variant reads ${percent(off)}.`;
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
  for (const text of [stale ? "another variant" : "this variant", "sheet metal", "quick", "quick reads"]) add(top, "th", text).scope = "col";
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
  for (const text of ["member", "sections", "highest stress along it, MPa", "of yield, %", "of the energy, %"]) add(top, "th", text).scope = "col";
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
  if (member.stress_mpa !== null) add(tip, "span", `highest along ${name} ${figure(member.stress_mpa)} MPa, ${figure(member.yield_percent)} % of yield`);
  add(tip, "span", `${name} stores ${member.energy_percent.toFixed(1)} % of the energy`);
};
