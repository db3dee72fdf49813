// The pocket page: what is tapped at the table is kept on this phone as field notes, and a print
// laid on is counted down to its look and its pull. Nothing is sent anywhere.
(function () {
  const section = document.getElementById("tickets");
  if (!section || !section.hasAttribute("data-pocket")) {
    return;
  }
  const data = JSON.parse(section.getAttribute("data-pocket"));
  const STEPS = ["sat", "laid", "touch", "dry", "handed"];
  const SAID = { sat: "Sat", laid: "Laid on", touch: "Touch dry", dry: "Dry", handed: "Handed over" };
  const SUN = { gone: "Sun gone from the box", back: "Sun back on the box" };
  const KEY = ["drybox", data.names.event, data.names.place, data.day].join(" | ");
  const MINUTE = 60;
  const FIVE = 5 * MINUTE;
  const AHEAD_SHOWN = 2; // tickets not yet sat that stand in the short list
  const GONE_BY = 20 * MINUTE; // after which a sitter who was not tapped stands no more among the next
  const TAP_GUARD_MS = 700; // after cards change places, so that no second tap hits another one
  const COLUMNS = ["id", "kind", "at", "timezone", "written_at", "event", "place", "box", "paper",
    "ticket", "way", "state", "sky", "temp_c", "undoes"];
  const byTicket = new Map(data.tickets.map((ticket) => [ticket.ticket, ticket]));
  const cards = new Map();
  const $ = (id) => document.getElementById(id);
  const now = () => Date.now() / 1000;

  let log = [];
  let keeps = false;
  let ringing = null;
  let lastTick = now();
  let moved = 0;
  let lastTap = null;
  let showAll = false;

  // ---- words

  const format = new Intl.DateTimeFormat("en-GB",
    { hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: data.zone });
  const plain = (atS) => format.format(new Date(Math.round(atS / MINUTE) * MINUTE * 1000));
  // With a star where clocks were set back, by an hour or half of one, and it comes again.
  const clock = (atS) => {
    const again = [30, 60].some((minutes) => plain(atS - minutes * MINUTE) === plain(atS));
    return `${plain(atS)}${again ? "*" : ""}`;
  };
  const degrees = (celsius) =>
    data.us ? `${Math.round(celsius * 1.8 + 32)} °F` : `${Math.round(celsius)} °C`;

  function left(seconds) {
    const whole = Math.max(Math.ceil(seconds), 0);
    return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
  }

  function say(text) {
    $("heard").textContent = text;
  }

  // ---- keeping

  function probe() {
    try {
      localStorage.setItem("drybox probe", "1");
      const kept = localStorage.getItem("drybox probe") === "1";
      localStorage.removeItem("drybox probe");
      return kept;
    } catch (fault) {
      return false;
    }
  }

  function load() {
    try {
      const found = JSON.parse(localStorage.getItem(KEY) || "[]");
      log = Array.isArray(found) ? found.filter((note) => note && note.id && note.at) : [];
    } catch (fault) {
      log = [];
    }
  }

  function keep() {
    if (!keeps) {
      return;
    }
    try {
      localStorage.setItem(KEY, JSON.stringify(log));
    } catch (fault) {
      keeps = false;
      showKeeping();
    }
  }

  function showKeeping() {
    $("nowhere").hidden = keeps;
    $("pocket").classList.toggle("keeps-nothing", !keeps);
  }

  function newId() {
    const bytes = crypto.getRandomValues(new Uint8Array(6));
    return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  function write(note) {
    if (keeps) {
      load(); // another window may have written meanwhile
    }
    const row = { id: newId(), at: Math.floor(now()), written: Math.floor(now()), ...note };
    log.push(row);
    keep();
    return row;
  }

  // What the sheet was made with, and what was tapped here since.
  function all() {
    const here = new Set(log.map((note) => note.id));
    return [...data.noted.filter((note) => !here.has(note.id)), ...log];
  }

  function standing() {
    const undone = new Set(log.filter((note) => note.kind === "undo").map((note) => note.undoes));
    return all().filter((note) => note.kind !== "undo" && !undone.has(note.id))
      .sort((a, b) => a.at - b.at);
  }

  // ---- the day as tapped

  // Each ticket's steps, and under which sky, reading and dampness a print was laid on; and when
  // the sun was gone from the box, the last time perhaps still.
  function replay() {
    const tickets = new Map(data.tickets.map((ticket) => [ticket.ticket, {}]));
    const given = { sky: 0, reading: null, damp: null, gone: null };
    const shades = [];
    standing().forEach((note) => {
      if (note.kind === "sky") {
        given.sky = Math.max(data.skies.findIndex((sky) => sky.name === note.word), 0);
      } else if (note.kind === "plate") {
        given.reading = note;
      } else if (note.kind === "damp") {
        given.damp = note.damp;
      } else if (note.kind === "sun" && (note.state === "gone") !== Boolean(given.gone)) {
        given.gone = note.state === "gone" ? note : null;
        if (given.gone) {
          shades.push([note.at, Infinity]);
        } else {
          shades[shades.length - 1][1] = note.at;
        }
      } else if (tickets.has(note.ticket)) {
        tickets.get(note.ticket)[note.kind] = { ...note, given: { ...given } };
      }
    });
    return { tickets, given, shades };
  }

  function place(known, value) {
    for (let row = 0; row + 1 < known.length; row += 1) {
      if (known[row] <= value && value <= known[row + 1]) {
        return { row, share: (value - known[row]) / (known[row + 1] - known[row]) };
      }
    }
    return null;
  }

  const mixed = (one, other, share) => one.map((value, n) => {
    if (share === 0 || share === 1) {
      return share === 0 ? value : other[n];
    }
    return value === null || other[n] === null ? null : value + share * (other[n] - value);
  });

  function byClock(sky, atS) {
    const found = place(data.starts, atS);
    const rows = data.skies[sky] && data.skies[sky].minutes;
    return found && rows ? mixed(rows[found.row], rows[found.row + 1], found.share) : null;
  }

  function dampAt(atS) {
    const rows = data.damp || [];
    const near = rows.filter((row) => row[0] <= atS).pop() || rows[0];
    return near ? near[1] : 0.5;
  }

  function byMeter(celsius, damp) {
    const meter = data.meter;
    const across = meter && place(meter.readings, celsius);
    const first = meter && meter.damp[0];
    const last = meter && meter.damp[meter.damp.length - 1];
    const down = meter && place(meter.damp, Math.min(Math.max(damp, first), last));
    if (!across || !down) {
      return null;
    }
    const at = (row) => mixed(meter.minutes[row][across.row], meter.minutes[row][across.row + 1],
      across.share);
    return mixed(at(down.row), at(down.row + 1), down.share);
  }

  // Whether a print laid on there may be kept over its limit of heat.
  function hotAt(flags, known, value) {
    const found = flags && place(known, value);
    return Boolean(found) && Boolean(flags[found.row + Math.round(found.share)]);
  }

  const fresh = (reading, atS) => reading && atS - reading.at <= data.keptMin * MINUTE;

  // Whether the plan was made, in the middle of the day, with this laying-on among its notes.
  const planKnows = (ticket, laid) => ticket.noted && Math.abs(ticket.on - laid.at) <= MINUTE;

  // When to look at a print laid on, when to pull it, and when nine in ten are dry.
  function timesOf(ticket, laid) {
    let minutes = null;
    let from = "";
    let hot = false;
    if (planKnows(ticket, laid)) {
      minutes = ticket.minutes;
      from = "by the notes that the plan was made with";
    } else if (laid.way === "sun_plate") {
      const { reading, damp, gone } = laid.given;
      const sky = gone ? darkest() : laid.given.sky;
      if (fresh(reading, laid.at) && !(gone && reading.at < gone.at)) {
        minutes = byMeter(reading.temp, damp === null ? dampAt(laid.at) : damp);
        hot = hotAt(data.meter && data.meter.hot, data.meter && data.meter.readings, reading.temp);
        from = `plate ${degrees(reading.temp)}`;
      }
      if (!minutes) {
        minutes = byClock(sky, laid.at);
        hot = hotAt(data.skies[sky] && data.skies[sky].hot, data.starts, laid.at);
        from = data.skies[sky] ? `${gone ? "sun gone, as " : ""}${data.skies[sky].name}` : "";
      }
    } else {
      minutes = ticket.minutes;
      from = "as the plan has it";
    }
    if (!minutes || minutes[0] === null) {
      return null;
    }
    const [look, pull, by] = minutes.map((m) => (m === null ? null : laid.at + m * MINUTE));
    return { look, pull, by, from, hot };
  }

  const darkest = () => {
    const found = data.skies.findIndex((sky) => sky.word === "overcast");
    return found < 0 ? data.skies.length - 1 : found;
  };

  // For how much of its time on the plate a print laid on in the sun had none. [s]
  function shadeOf(ticket, laid, shades) {
    if (laid.way !== "sun_plate" || (laid.given.gone && !planKnows(ticket, laid))) {
      return 0;
    }
    const since = planKnows(ticket, laid) ? Math.max(data.made, laid.at) : laid.at;
    return shades.reduce((sum, [from, until]) =>
      sum + Math.max(Math.min(until, now()) - Math.max(from, since), 0), 0);
  }

  const lastStep = (steps) => STEPS.filter((name) => steps[name]).pop() || "";
  const lies = (step) => step === "laid" || step === "touch";

  // The step that the large button of a ticket notes, and the one beside it.
  function after(ticket, step) {
    const touch = ticket.atTouch;
    if (step === "laid") {
      return touch ? ["touch", "dry"] : ["dry", "touch"];
    }
    if (step === "touch") {
      return touch ? ["handed", "dry"] : ["dry", ""];
    }
    return [STEPS.filter((name) => name !== "touch")[
      STEPS.filter((name) => name !== "touch").indexOf(step) + 1] || "", ""];
  }

  function stateOf(ticket, steps, shades) {
    const step = lastStep(steps);
    const times = steps.laid ? timesOf(ticket, steps.laid) : null;
    if (times && lies(step)) {
      times.shade = shadeOf(ticket, steps.laid, shades);
    }
    const by = ticket.after && steps.sat ? steps.sat.at + ticket.after * MINUTE : ticket.by;
    const ready = readyAt(ticket, steps, times);
    const late = step !== "" && step !== "handed" && by !== null && ticket.how !== "mail" &&
      (now() > by || (ready !== null && ready > by + MINUTE / 2));
    return { step, times, by, ready, late };
  }

  function readyAt(ticket, steps, times) {
    if (ticket.how === "damp") {
      return null; // it goes as it is
    }
    if (ticket.atTouch && steps.dry) {
      return steps.dry.at;
    }
    if (ticket.atTouch && ticket.touch !== null) {
      return touchAt(ticket, steps, times);
    }
    const flat = ticket.flat * MINUTE;
    if (steps.dry) {
      return steps.dry.at + flat;
    }
    if (steps.laid) {
      return times && times.pull !== null ? Math.max(times.pull, now()) + flat : null;
    }
    if (ticket.on === null || ticket.minutes[1] === null) {
      return null;
    }
    return Math.max(ticket.on, now()) + ticket.minutes[1] * MINUTE + flat;
  }

  // When a print that is promised touch dry is so: as soon before dry as the plan has it.
  function touchAt(ticket, steps, times) {
    if (steps.touch) {
      return steps.touch.at;
    }
    if (!steps.laid) {
      return ticket.on === null ? null : Math.max(ticket.on, now()) + ticket.touch * MINUTE;
    }
    const share = ticket.minutes[1] === null ? null : ticket.touch / ticket.minutes[1];
    const known = share !== null && times && times.pull !== null;
    const lasts = known ? share * (times.pull - steps.laid.at) : ticket.touch * MINUTE;
    return Math.max(steps.laid.at + lasts, now());
  }

  function order(ticket, steps, state) {
    if (state.step === "handed") {
      return [6, steps.handed.at];
    }
    if (state.late) {
      return [0, state.by];
    }
    if (lies(state.step)) {
      return [1, nextOf(state.times) || steps.laid.at];
    }
    if (state.step === "dry") {
      return [2, state.by || 0];
    }
    if (state.step === "sat") {
      return [3, ticket.on || state.by || 0];
    }
    return [ticket.sits > now() - GONE_BY ? 4 : 5, ticket.sits];
  }

  const nextOf = (times) =>
    times && [times.look, times.pull, times.by].find((at) => at !== null && at > now());

  // ---- cards

  function makeCard(ticket) {
    const card = $("card").content.firstElementChild.cloneNode(true);
    card.querySelector(".no").textContent = ticket.ticket;
    card.querySelector(".who").textContent = ticket.name;
    [".step", ".also"].forEach((part, number) => card.querySelector(part).addEventListener("click",
      () => tap(ticket, after(ticket, lastStep(replay().tickets.get(ticket.ticket)))[number])));
    cards.set(ticket.ticket, card);
    $("cards").append(card);
  }

  function tap(ticket, kind) {
    if (!kind || Date.now() - moved < TAP_GUARD_MS) {
      return;
    }
    const way = $("way").value || ticket.way || "sun_plate";
    const note = write(kind === "laid" ? { kind, ticket: ticket.ticket, way }
      : { kind, ticket: ticket.ticket });
    noticed(note);
  }

  // Say what was tapped, and offer to take it back.
  function noticed(note) {
    lastTap = note;
    show();
    const ticket = byTicket.get(note.ticket);
    let words = `Plate ${degrees(note.temp)} at ${clock(note.at)}`;
    if (ticket) {
      words = `Ticket ${note.ticket}: ${SAID[note.kind].toLowerCase()} ${clock(note.at)}`;
    } else if (note.kind === "sun") {
      words = `${SUN[note.state]} ${clock(note.at)}`;
    }
    const laid = note.kind === "laid" && replay().tickets.get(note.ticket).laid;
    const times = laid && timesOf(ticket, laid);
    say(times ? `${words}. ${timesSaid(times)}.` : `${words}.`);
    $("undo-said").textContent = words;
    $("undo-bar").hidden = false;
  }

  function timesSaid(times) {
    const parts = [`look ${clock(times.look)}`];
    parts.push(times.pull === null ? "not sure to dry" : `pull ${clock(times.pull)}`);
    if (times.by !== null) {
      parts.push(`nine in ten by ${clock(times.by)}`);
    }
    const hot = times.hot ? "; ▲ may get too hot: lay a cloth under it" : "";
    const shade = times.shade >= MINUTE / 2
      ? `; ▲ later: no sun for ${Math.round(times.shade / MINUTE) || 1} min of it` : "";
    return `${parts.join(", ")} (${times.from})${hot}${shade}`;
  }

  function dueSaid(ticket, steps, state) {
    const times = state.times;
    if (state.step === "handed") {
      return `handed over ${clock(steps.handed.at)}`;
    }
    if (state.step === "dry") {
      const flat = steps.dry.at + ticket.flat * MINUTE;
      const open = ticket.atTouch ? ", or to go open, between blotters" : "";
      return now() < flat ? `under flat weight until ${clock(flat)}${open}` : "dry and flat";
    }
    if (state.step === "touch" && ticket.atTouch) {
      return "touch dry: to go, open between blotters";
    }
    if (lies(state.step)) {
      if (!times) {
        return `laid on ${clock(steps.laid.at)}; no time known, look often`;
      }
      if (now() < times.look) {
        return `look in ${left(times.look - now())}`;
      }
      if (times.pull === null) {
        return "look now and then";
      }
      return now() < times.pull ? `look now, pull in ${left(times.pull - now())}` : "pull now";
    }
    if (state.step === "sat") {
      return ticket.on === null ? "no room to dry it here" : `lay on about ${clock(ticket.on)}`;
    }
    return `sits ${clock(ticket.sits)}`;
  }

  function bySaid(ticket, state) {
    const how = ticket.how === "dry" ? "" : ` ${ticket.how}`;
    if (state.by === null) {
      return ticket.how === "dry" ? "" : ticket.how;
    }
    if (!state.late) {
      return `promise ${clock(state.by)}${how}`;
    }
    const later = state.ready !== null && state.ready > state.by;
    const ready = later ? `, ready about ${clock(state.ready)}` : "";
    return `▲ late: promised ${clock(state.by)}${how}${ready}`;
  }

  function put(node, text) {
    if (node.textContent !== text) {
      node.textContent = text;
    }
  }

  function showCard(ticket, steps, state) {
    const card = cards.get(ticket.ticket);
    const [next, also] = after(ticket, state.step);
    const step = card.querySelector(".step");
    card.className = `card ${state.step || "waits"}${state.late ? " late" : ""}`;
    card.classList.toggle("due", lies(state.step) && Boolean(state.times) &&
      !(state.step === "touch" && ticket.how === "touch dry") && now() >= state.times.look);
    put(card.querySelector(".by"), bySaid(ticket, state));
    put(card.querySelector(".due"), dueSaid(ticket, steps, state));
    put(card.querySelector(".times"),
      lies(state.step) && state.times ? timesSaid(state.times) : "");
    [[step, next], [card.querySelector(".also"), also]].forEach(([button, name]) => {
      put(button, name ? SAID[name] : "");
      button.hidden = !name;
      if (name) {
        button.setAttribute("aria-label",
          `${SAID[name]}: ticket ${ticket.ticket} ${ticket.name}`.trim());
      }
    });
    showOthers(card, ticket, steps, next);
  }

  function showOthers(card, ticket, steps, next) {
    const others = card.querySelector(".others");
    const wanted = STEPS.filter((name) => name !== next)
      .map((name) => (steps[name] ? `Take back ${SAID[name].toLowerCase()} ${clock(steps[name].at)}`
        : SAID[name]));
    if (others.dataset.wanted === wanted.join()) {
      return;
    }
    others.dataset.wanted = wanted.join();
    others.textContent = "";
    STEPS.filter((name) => name !== next).forEach((name, number) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = wanted[number];
      button.addEventListener("click", () =>
        (steps[name] ? takeBack(steps[name]) : tap(ticket, name)));
      others.append(button);
    });
    card.querySelector("summary").setAttribute("aria-label", `Other steps, ticket ${ticket.ticket}`);
  }

  function takeBack(note) {
    write({ kind: "undo", undoes: note.id });
    $("undo-bar").hidden = true;
    lastTap = null;
    show();
    say("Taken back.");
  }

  function show() {
    const day = replay();
    const wanted = $("find").value.trim().toLowerCase();
    let ahead = 0;
    const found = data.tickets.map((ticket) => {
      const steps = day.tickets.get(ticket.ticket);
      const state = stateOf(ticket, steps, day.shades);
      showCard(ticket, steps, state);
      return { ticket, card: cards.get(ticket.ticket), key: order(ticket, steps, state) };
    }).sort((a, b) => a.key[0] - b.key[0] || a.key[1] - b.key[1]);
    found.forEach(({ ticket, card, key }) => {
      ahead += key[0] === 4;
      const named = `${ticket.ticket} ${ticket.name}`.toLowerCase().includes(wanted);
      const short = key[0] < 4 || (key[0] === 4 && ahead <= AHEAD_SHOWN);
      card.hidden = wanted ? !named : !(showAll || short);
    });
    inOrder(found.map(({ card }) => card));
    const more = showAll || wanted ? 0 : found.filter(({ card }) => card.hidden).length;
    put($("all-tickets"), more ? `All tickets, ${more} more` : "All tickets");
    showGiven(day.given);
    showRule();
    const text = csv();
    if ($("csv").value !== text) {
      $("csv").value = text;
    }
  }

  // Put the cards in order, moving only when one is out of place, and keep the focus.
  function inOrder(wanted) {
    const list = $("cards");
    if (wanted.every((card, number) => list.children[number] === card)) {
      return;
    }
    const focused = document.activeElement;
    list.append(...wanted);
    if (list.contains(focused)) {
      focused.focus({ preventScroll: true });
    }
    moved = Date.now();
  }

  // ---- what is given now

  function showGiven(given) {
    $("sky").selectedIndex = given.sky;
    const sky = data.skies[given.sky];
    let text = sky ? `Times by the sky: ${sky.name}.` : "No lookup is in this sheet.";
    if (fresh(given.reading, now())) {
      const until = clock(given.reading.at + data.keptMin * MINUTE);
      text = `Times by the plate, ${degrees(given.reading.temp)}, until ${until}; then by the sky.`;
    }
    if (given.gone && !(given.reading && given.reading.at >= given.gone.at && fresh(given.reading, now()))) {
      text = `No sun on the box since ${clock(given.gone.at)}: times as ${data.skies.length
        ? data.skies[darkest()].name : "known without it"}.`;
    }
    put($("sun"), SUN[given.gone ? "back" : "gone"]);
    put($("stands-on"), text);
    $("damp").placeholder = String(Math.round(100 * (given.damp || dampAt(now()))));
  }

  // What to promise a sitter who sits now.
  function showRule() {
    const rule = data.rules.find(([from, until]) => from <= now() && now() < until);
    $("sit-now").hidden = !rule;
    if (rule) {
      const [, , minutes, how] = rule;
      const hours = Math.floor(minutes / 60);
      const rest = Math.round(minutes % 60);
      const long = `${hours ? `${hours} h ` : ""}${rest || !hours ? `${rest} min` : ""}`.trim();
      const by = Math.ceil((now() + minutes * MINUTE) / FIVE) * FIVE;
      put($("sit-now"), `Sit now: promise ${how} in ${long}, ${clock(by)}`);
    }
  }

  function number(field) {
    const text = field.value.trim().replace(",", ".");
    return text === "" ? NaN : Number(text);
  }

  function takeReading() {
    const shown = number($("plate"));
    const celsius = data.us ? (shown - 32) / 1.8 : shown;
    if (!(celsius >= -30 && celsius <= 150)) {
      say("Type what the plate's thermometer reads, a number of degrees.");
      $("plate").focus();
      return;
    }
    const damp = number($("damp"));
    if (damp >= 1 && damp <= 100) {
      write({ kind: "damp", damp: damp / 100 });
    }
    $("plate").value = "";
    noticed(write({ kind: "plate", temp: celsius }));
  }

  // ---- ringing

  function ring(words) {
    say(words);
    if (!ringing) {
      return;
    }
    if (navigator.vibrate) {
      navigator.vibrate([400, 200, 400, 200, 400]);
    }
    [0, 0.5, 1.0].forEach((wait) => {
      const tone = ringing.createOscillator();
      tone.frequency.value = 880;
      tone.connect(ringing.destination);
      tone.start(ringing.currentTime + wait);
      tone.stop(ringing.currentTime + wait + 0.3);
    });
  }

  function toggleRing() {
    const wanted = !ringing;
    if (wanted) {
      const Context = window.AudioContext || window.webkitAudioContext;
      ringing = Context ? new Context() : null;
      if (ringing && ringing.resume) {
        ringing.resume();
      }
    } else {
      ringing.close();
      ringing = null;
    }
    $("ring").setAttribute("aria-pressed", String(Boolean(ringing)));
    say(ringing ? "It rings at look and at pull while this page is open." : "It does not ring.");
  }

  function tick() {
    const from = lastTick;
    lastTick = now();
    const day = replay();
    const said = [];
    data.tickets.forEach((ticket) => {
      const steps = day.tickets.get(ticket.ticket);
      const rings = lies(lastStep(steps)) && !(steps.touch && ticket.how === "touch dry");
      const times = rings && steps.laid && timesOf(ticket, steps.laid);
      const passed = (at) => at !== null && from < at && at <= lastTick;
      if (times && passed(times.pull)) {
        said.push(`Ticket ${ticket.ticket}: pull it now`);
      } else if (times && passed(times.look)) {
        said.push(`Ticket ${ticket.ticket}: look at it now`);
      } else if (times && passed(times.by)) {
        said.push(`Ticket ${ticket.ticket}: nine in ten are dry by now`);
      }
    });
    show();
    if (said.length) {
      ring(`${said.join(". ")}.`);
    }
  }

  // ---- notes out

  const iso = (atS) => new Date(atS * 1000).toISOString().replace(/\.\d+Z$/, "+00:00");

  function cell(value) {
    const text = String(value === undefined || value === null ? "" : value);
    const safe = /^[=+\-@\t\r']/.test(text) ? `'${text}` : text;
    return /[",\n\r]/.test(safe) ? `"${safe.replace(/"/g, '""')}"` : safe;
  }

  // The kind of a note as `drybox note` knows it, mostly its own; empty for what stays here.
  function kindOf(note) {
    if (STEPS.includes(note.kind) || note.kind === "sun") {
      return note.kind;
    }
    if (note.kind === "sky") {
      const sky = data.skies.find((known) => known.name === note.word);
      return sky && sky.word ? "sky" : "";
    }
    if (note.kind === "undo") {
      const target = all().find((other) => other.id === note.undoes);
      return target && kindOf(target) ? "undo" : "";
    }
    return note.kind === "plate" ? "plate" : "";
  }

  function csv() {
    const lines = log.filter(kindOf).map((note) => {
      const sky = data.skies.find((known) => known.name === note.word);
      const row = {
        ...data.names,
        id: note.id,
        kind: kindOf(note),
        at: iso(note.at),
        timezone: data.zone,
        written_at: iso(note.written),
        ticket: note.ticket,
        way: note.way,
        state: note.state,
        sky: sky ? sky.word : "",
        temp_c: note.kind === "plate" ? Number(note.temp.toFixed(6)) : "",
        undoes: note.undoes,
      };
      const numbers = ["temp_c"];
      return COLUMNS.map((name) =>
        (numbers.includes(name) ? String(row[name]) : cell(row[name]))).join(",");
    });
    return `${[COLUMNS.join(","), ...lines].join("\n")}\n`;
  }

  function save() {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([csv()], { type: "text/csv" }));
    link.download = `notes-${data.day}.csv`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    say(`Saved as ${link.download}.`);
  }

  function copy() {
    const done = () => say("Copied: paste it into a message to yourself, or into a file.");
    const byHand = () => {
      $("csv").focus();
      $("csv").select();
      try {
        document.execCommand("copy");
        done();
      } catch (fault) {
        say("The text is marked: copy it from the phone's own menu.");
      }
    };
    if (navigator.clipboard && navigator.clipboard.writeText) {
      navigator.clipboard.writeText(csv()).then(done, byHand);
    } else {
      byHand();
    }
  }

  // ---- boxes of the evening before stay ticked

  function keepTicks() {
    const key = `${KEY} | ticks`;
    const boxes = [...document.querySelectorAll(".ticks input")];
    const name = (box) => box.parentNode.textContent.trim();
    let ticked = [];
    try {
      ticked = JSON.parse(localStorage.getItem(key) || "[]");
    } catch (fault) {
      ticked = [];
    }
    boxes.forEach((box) => {
      box.checked = ticked.includes(name(box));
      box.addEventListener("change", () => {
        if (keeps) {
          localStorage.setItem(key, JSON.stringify(boxes.filter((b) => b.checked).map(name)));
        }
      });
    });
  }

  // ---- begin

  function press(id, act) {
    $(id).addEventListener("click", act);
  }

  function begin() {
    keeps = probe();
    if (keeps) {
      load();
    }
    showKeeping();
    data.tickets.forEach(makeCard);
    data.skies.forEach((sky) => $("sky").append(new Option(sky.name, sky.name)));
    document.querySelector(".given").hidden = !data.skies.length;
    const sits = data.tickets.map((ticket) => ticket.sits);
    if (now() < Math.min(...sits) - 21600 || now() > Math.max(...sits) + 43200) {
      $("other-day").hidden = false;
      $("other-day").textContent = `This sheet is for ${data.day}. What is tapped now is noted ` +
        "with the time of this phone: try it, and forget the taps before the day.";
    }
    $("sky").addEventListener("change", () => {
      write({ kind: "sky", word: $("sky").value });
      show();
      say(`Sky: ${$("sky").value}, for what is laid on from now.`);
    });
    $("find").addEventListener("input", show);
    press("take-reading", takeReading);
    press("ring", toggleRing);
    press("sun", () => {
      if (Date.now() - moved >= TAP_GUARD_MS) {
        noticed(write({ kind: "sun", state: replay().given.gone ? "back" : "gone" }));
      }
    });
    press("save", save);
    press("copy", copy);
    press("copy-now", copy);
    press("take-back", () => lastTap && takeBack(lastTap));
    press("earlier", () => {
      if (lastTap) {
        const { id, written, ...same } = lastTap;
        write({ kind: "undo", undoes: id });
        noticed(write({ ...same, at: same.at - 5 * MINUTE }));
      }
    });
    press("all-tickets", () => {
      showAll = !showAll;
      $("all-tickets").setAttribute("aria-pressed", String(showAll));
      show();
    });
    press("plan-table", () => {
      const shown = section.classList.toggle("with-plan");
      $("plan-table").setAttribute("aria-pressed", String(shown));
    });
    press("forget", () => {
      if (window.confirm("Forget all that was tapped on this phone for this day?")) {
        log = [];
        keep();
        $("undo-bar").hidden = true;
        show();
      }
    });
    window.addEventListener("storage", (event) => {
      if (event.key === KEY) {
        load();
        show();
      }
    });
    keepTicks();
    section.classList.add("in-pocket");
    $("pocket").hidden = false;
    show();
    setInterval(tick, 1000);
  }

  begin();
}());
