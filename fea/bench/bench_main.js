// Asking the server, one question at a time, always for the latest choice.

const TOKEN = new URLSearchParams(location.search).get("token") || "";

async function askServer(what, record) {
  let answer;
  try {
    answer = await fetch(`/${what}?token=${encodeURIComponent(TOKEN)}`, {
      method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(record),
    });
  } catch { return { problems: ["The bench does not answer: was it stopped in the terminal?"] }; }
  if (answer.status === 403) return { problems: [`The bench turned this page away: ${(await answer.text()).trim()}.`] };
  try { return await answer.json(); } catch { return { problems: ["The bench failed on this choice."] }; }
}

function complain(lines, after) {
  const home = document.getElementById("problem");
  home.replaceChildren();
  for (const line of lines) add(home, "p", line);
  if (lines.length && after) add(home, "p", after);
  home.hidden = !lines.length;
}

const asPinned = (curves, name) => curves.map((c) => ({ ...c, name, dashed: true, pinned: true }));

function bench() {
  let shown = DATA, running = false, due = null, good = startChoice(), letter = 0, calm = 0, later = 0, asked = 0;
  const follow = document.getElementById("follow"), told = document.getElementById("sheet-state");
  follow.checked = BENCH.joints === "sheet";
  const joints = () => (follow.checked ? "sheet" : "beam");
  const kept = (found, curves) => ({ figures: found.figures, joints: found.joints, curves, sure: found.joints === "sheet" || !follow.checked });
  const first = { name: "as started", choice: startChoice(), cases: { [DATA.case]: kept(DATA, []) } };
  const dashed = () => pins.flatMap((p) => p.cases[shown.case]?.curves ?? []);

  // Stress and profile differ from case to case: what stands beside is asked for under this one.
  const besideUnder = async (name) => {
    for (const one of [first, ...pins]) if (!one.cases[name]) {
      const found = await askServer("solve", { ...one.choice, case: name, joints: joints() });
      if (found.problems) continue;
      const painted = found.painted ? found : { ...found, ...await askServer("paint", { ...one.choice, case: name }) };
      one.cases[name] = kept(painted, one === first ? [] : asPinned(found.profile.curves, one.name));
    }
  };
  // More is known by now than when these were asked for.
  const forget = () => { for (const one of [first, ...pins]) for (const [name, c] of Object.entries(one.cases)) if (!c.sure) delete one.cases[name]; };

  const write = (found) => {
    writeFigures(found, first, drop);
    writeHeadline(found, good, follow.checked);
    writeSheet(good);
    writeMembers(found);
    clearTimeout(calm); // read aloud once the reader has stopped moving the slider
    calm = setTimeout(() => {
      document.getElementById("said").textContent = found.figures.filter((f) => f.value !== null).map((f) => `${f.label} ${four(f.value)} ${f.unit}`).join(", ");
    }, 700);
  };
  const drop = (k) => { pins.splice(k, 1); showProfile(dashed()); write(shown); document.getElementById("pin").focus(); };

  const run = async () => {
    if (running) return;
    running = true;
    while (due) {
      const { choice, at, path } = due;
      due = null;
      const found = await askServer("solve", { ...choice, joints: joints(), have: DATA.walls.hang });
      if (found.problems) {
        if (due) continue; // the reader has gone on already
        complain(found.problems, "Nothing was changed.");
        controls.choice = structuredClone(good);
        controls.write(path);
        continue;
      }
      const lacking = [first, ...pins].some((one) => !one.cases[found.case]);
      good = choice;
      shown = found;
      complain([]);
      for (const { text } of controls.rows.values()) text.setAttribute("aria-invalid", "false");
      if (path) controls.writeRow(path);
      showScene(found, dashed());
      write(found);
      const { ms } = found, round = (v) => v.toFixed(0);
      const pace = `followed in ${round(performance.now() - at)} ms; server ${round(ms.all)} ms`
        + (ms.kept ? ", solved before" : ` (frame ${round(ms.build)}, solving ${round(ms.solve)}, drawing ${round(ms.draw)})`);
      if (lacking) {
        await besideUnder(found.case);
        showProfile(dashed());
        write(shown);
      }
      if (!due && !found.painted) await paint(choice);
      document.getElementById("pace").textContent = pace;
    }
    running = false;
    if (follow.checked && shown.joints !== "sheet") soon();
  };

  // The stress in sheet metal comes after shape and stiffness.
  const paint = async (choice) => {
    const found = await askServer("paint", choice);
    if (found.problems || due) return;
    showPaint(found);
    shown = { ...shown, figures: found.figures, members: found.members, painted: true };
    for (const one of [first, ...pins]) if (sameness(one.choice) === sameness(choice) && one.cases[found.case]) one.cases[found.case].figures = found.figures;
    write(shown);
  };
  const controls = new Controls(document.getElementById("controls"), (path) => {
    clearTimeout(later);
    due = { choice: structuredClone(controls.choice), at: performance.now(), path: path || null };
    run();
  });

  // Sheet metal is asked for once the reader has stopped; a later question makes the server give
  // up an earlier one.  When it is there, it takes the place of the estimate.
  const workOut = async () => {
    clearTimeout(later);
    const choice = structuredClone(good), began = performance.now(), mine = ++asked;
    const tick = setInterval(() => { if (mine === asked) told.textContent = `working it out\u2026 ${((performance.now() - began) / 1000).toFixed(0)} s`; }, 500);
    told.textContent = "working it out\u2026";
    const found = await askServer("sheet", choice);
    clearInterval(tick);
    if (found.given_up || mine !== asked) return;
    told.textContent = found.problems ? `There is no figure by sheet metal: ${found.problems.join(" ")}` : `took ${((performance.now() - began) / 1000).toFixed(1)} s`;
    if (found.problems) return;
    sheet = { ...found, of: sameness(choice) };
    if (follow.checked && sameness(choice) === sameness(controls.choice)) {
      forget();
      due ??= { choice: structuredClone(controls.choice), at: performance.now(), path: null };
      run();
    } else write(shown);
  };
  const soon = () => { clearTimeout(later); later = setTimeout(workOut, shown.at_hand ? 30 : 400); };
  document.getElementById("ask-sheet").addEventListener("click", workOut);
  follow.addEventListener("change", () => {
    clearTimeout(later);
    forget();
    due = { choice: structuredClone(good), at: performance.now(), path: null };
    run();
  });

  document.getElementById("pin").addEventListener("click", () => {
    const name = `pin ${String.fromCharCode(65 + (letter++ % 26))}`;
    const changed = [...Object.entries(good.switches).filter(([k, on]) => on !== (BENCH.start.switches[k] ?? on)).map(([k, on]) => `${k} ${on ? "on" : "off"}`),
      ...Object.entries(good.values).map(([k, v]) => `${k} = ${v}`), ...(good.mounts ? [`mounts ${good.mounts}`] : [])];
    const curves = asPinned(shown.profile.curves.filter((c) => !c.pinned), name);
    pins.push({ name, told: changed.join("; ") || "as started", choice: structuredClone(good), cases: { [shown.case]: kept(shown, curves) } });
    if (pins.length > 3) pins.shift();
    showProfile(dashed());
    write(shown);
  });

  document.getElementById("save-place").textContent = `Goes into ${BENCH.folder}; nothing there is written over.`;
  document.getElementById("saving").addEventListener("submit", async (event) => {
    event.preventDefault();
    const name = document.getElementById("save-name"), saved = document.getElementById("saved");
    saved.textContent = "";
    const found = await askServer("save", { name: name.value.trim(), choice: good });
    name.setAttribute("aria-invalid", String(Boolean(found.problems)));
    complain(found.problems || [], "Nothing was saved.");
    if (found.problems) { name.focus(); return; }
    saved.textContent = `Saved as ${found.file}. To run it: `;
    add(saved, "code", found.command);
  });
  document.getElementById("papers").hidden = !BENCH.packets;
  document.getElementById("make-packet").addEventListener("click", async (event) => {
    const state = document.getElementById("packet-state"), link = document.getElementById("packet-file");
    const button = event.target, joints = follow.checked ? "sheet" : "beam";
    button.disabled = true;
    link.hidden = true;
    state.textContent = "Making the packet of what is shown now ...";
    const found = await askServer("packet", { choice: structuredClone(good), joints });
    button.disabled = false;
    complain(found.problems || [], "No packet was made.");
    state.textContent = found.problems ? "" : `Made with joints ${joints === "sheet" ? "as sheet metal" : "by beam rules"}.`;
    if (found.problems) return;
    URL.revokeObjectURL(link.href);
    link.href = URL.createObjectURL(new Blob([found.page], { type: "text/html" }));
    link.download = found.file;
    link.textContent = `Save ${found.file}`;
    link.hidden = false;
    link.focus();
  });
  write(DATA);
  if (follow.checked && DATA.joints !== "sheet") soon();
}

bench();
