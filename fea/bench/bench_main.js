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
  let shown = DATA, running = false, due = null, good = startChoice(), letter = 0, calm = 0;
  const first = { name: "as started", choice: startChoice(), cases: { [DATA.case]: { figures: DATA.figures, curves: [] } } };
  const dashed = () => pins.flatMap((p) => p.cases[shown.case]?.curves ?? []);

  // Stress and profile differ from case to case: what stands beside is asked for under this one.
  const besideUnder = async (name) => {
    for (const one of [first, ...pins]) if (!one.cases[name]) {
      const found = await askServer("solve", { ...one.choice, case: name });
      if (!found.problems) one.cases[name] = { figures: found.figures, curves: one === first ? [] : asPinned(found.profile.curves, one.name) };
    }
  };

  const write = (found) => {
    writeFigures(found, first, drop);
    writeHeadline(found, good);
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
      const found = await askServer("solve", { ...choice, have: DATA.walls.hang });
      if (found.problems) {
        if (due) continue; // the reader has gone on already
        complain(found.problems, "Nothing was changed.");
        controls.choice = structuredClone(good);
        controls.write(path);
        continue;
      }
      if (found.case !== shown.case) await besideUnder(found.case);
      good = choice;
      shown = found;
      complain([]);
      for (const { text } of controls.rows.values()) text.setAttribute("aria-invalid", "false");
      if (path) controls.writeRow(path);
      showScene(found, dashed());
      write(found);
      const { ms } = found, round = (v) => v.toFixed(0);
      document.getElementById("pace").textContent = `followed in ${round(performance.now() - at)} ms; server ${round(ms.all)} ms`
        + (ms.kept ? ", solved before" : ` (frame ${round(ms.build)}, solving ${round(ms.solve)}, drawing ${round(ms.draw)})`);
    }
    running = false;
  };
  const controls = new Controls(document.getElementById("controls"), (path) => {
    due = { choice: structuredClone(controls.choice), at: performance.now(), path: path || null };
    run();
  });

  document.getElementById("pin").addEventListener("click", () => {
    const name = `pin ${String.fromCharCode(65 + (letter++ % 26))}`;
    const changed = [...Object.entries(good.switches).filter(([k, on]) => on !== (BENCH.start.switches[k] ?? on)).map(([k, on]) => `${k} ${on ? "on" : "off"}`),
      ...Object.entries(good.values).map(([k, v]) => `${k} = ${v}`), ...(good.mounts ? [`mounts ${good.mounts}`] : [])];
    const curves = asPinned(shown.profile.curves.filter((c) => !c.pinned), name);
    pins.push({ name, told: changed.join("; ") || "as started", choice: structuredClone(good), cases: { [shown.case]: { figures: shown.figures, curves } } });
    if (pins.length > 3) pins.shift();
    showProfile(dashed());
    write(shown);
  });

  const button = document.getElementById("ask-sheet"), told = document.getElementById("sheet-state");
  button.addEventListener("click", async () => {
    const choice = structuredClone(good), began = performance.now();
    button.disabled = true;
    told.textContent = "working\u2026";
    const found = await askServer("sheet", choice);
    button.disabled = false;
    told.textContent = "";
    if (found.problems) { complain(found.problems, "There is no figure by sheet metal."); return; }
    sheet = { ...found, of: sameness(choice) };
    told.textContent = `took ${((performance.now() - began) / 1000).toFixed(1)} s`;
    writeHeadline(shown, good);
    writeSheet(good);
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
  write(DATA);
}

bench();
