"use strict";
// The sheet itself: what is due now, parts that fold, boxes that stay ticked. Without it all
// parts stand open one below the other.
(function () {
  const rows = [...document.querySelectorAll("[data-at]")];
  const steps = [...document.querySelectorAll(".steps li")];
  const box = document.getElementById("now");
  const NEXT_SHOWN = 3;
  const at = (node) => Number(node.getAttribute("data-at"));

  function markGroup(group, now) {
    const inside = rows.filter((row) => row.parentNode === group);
    const ahead = group.matches(".steps") || group.closest("#tickets");
    const here = inside.filter((row) => (ahead ? at(row) >= now : at(row) <= now));
    const chosen = ahead ? here[0] : here[here.length - 1];
    const place = inside.indexOf(chosen);
    inside.forEach((row, number) => {
      row.classList.toggle("is-now", row === chosen);
      row.classList.toggle("is-past", at(row) < now && row !== chosen);
      const near = number >= place - 1 && number <= place + NEXT_SHOWN;
      row.classList.toggle("is-far", place >= 0 && !near);
      if (row === chosen) {
        row.setAttribute("aria-current", "time");
      } else {
        row.removeAttribute("aria-current");
      }
    });
  }

  function showNext(now) {
    const next = steps.find((step) => at(step) >= now);
    if (!box || !next || box.getAttribute("data-for") === next.getAttribute("data-at")) {
      return;
    }
    box.setAttribute("data-for", next.getAttribute("data-at"));
    box.textContent = "";
    next.childNodes.forEach((part) => {
      let copy = part.cloneNode(true);
      if (copy.nodeName === "TIME") {
        const strong = document.createElement("b");
        strong.appendChild(copy);
        copy = strong;
      }
      box.appendChild(copy);
    });
  }

  function mark() {
    const now = Date.now() / 1000;
    const all = rows.map(at);
    if (now < Math.min(...all) - 43200 || now > Math.max(...all) + 7200) {
      return;
    }
    document.querySelectorAll("tbody, .steps, .turns").forEach((group) => markGroup(group, now));
    showNext(now);
  }

  // A heading becomes a button that shows and hides what stands below it.
  function foldable(section) {
    const heading = section.querySelector("h2");
    const button = document.createElement("button");
    button.type = "button";
    button.append(...heading.childNodes);
    heading.append(button);
    function set(open) {
      section.classList.toggle("folded", !open);
      button.setAttribute("aria-expanded", String(open));
    }
    button.addEventListener("click", () => set(section.classList.contains("folded")));
    set(window.matchMedia("(min-width: 48rem)").matches);
  }

  // A list of which only what is near now is shown gets a button for the rest.
  function shortened(list, words) {
    const section = list.closest("section");
    const button = document.createElement("button");
    button.type = "button";
    button.className = "rest";
    button.textContent = words;
    button.setAttribute("aria-pressed", "false");
    button.addEventListener("click", () => {
      const whole = list.classList.toggle("short") === false;
      button.setAttribute("aria-pressed", String(whole));
    });
    list.classList.add("short");
    section.append(button);
  }

  document.documentElement.classList.add("scripted");
  document.querySelectorAll("[data-fold]").forEach(foldable);
  if (steps.length > NEXT_SHOWN) {
    shortened(steps[0].parentNode, "The whole day");
  }
  const lookup = document.querySelector("#pull tbody");
  if (lookup) {
    shortened(lookup, "All hours");
  }
  if (rows.length) {
    mark();
    setInterval(mark, 30000);
  }
}());
