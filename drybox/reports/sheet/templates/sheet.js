"use strict";
(function () {
  var rows = Array.prototype.slice.call(document.querySelectorAll("[data-at]"));
  var steps = Array.prototype.slice.call(document.querySelectorAll(".steps li"));
  var box = document.getElementById("now");
  function at(node) { return Number(node.getAttribute("data-at")); }
  if (!rows.length) { return; }
  var all = rows.map(at), first = Math.min.apply(null, all), last = Math.max.apply(null, all);
  function mark() {
    var now = Date.now() / 1000;
    if (now < first - 43200 || now > last + 7200) { return; }
    ["tbody", ".steps", ".turns"].forEach(function (kind) {
      document.querySelectorAll(kind).forEach(function (group) {
        var inside = rows.filter(function (row) { return row.parentNode === group; });
        var ahead = kind === ".steps" || group.closest("#tickets");
        var here = inside.filter(function (row) { return ahead ? at(row) >= now : at(row) <= now; });
        var chosen = ahead ? here[0] : here[here.length - 1];
        inside.forEach(function (row) {
          row.classList.toggle("is-now", row === chosen);
          row.classList.toggle("is-past", at(row) < now && row !== chosen);
          if (row === chosen) { row.setAttribute("aria-current", "time"); } else { row.removeAttribute("aria-current"); }
        });
      });
    });
    var next = steps.filter(function (step) { return at(step) >= now; })[0];
    if (box && next && box.getAttribute("data-for") !== next.getAttribute("data-at")) {
      box.setAttribute("data-for", next.getAttribute("data-at"));
      box.textContent = "";
      Array.prototype.forEach.call(next.childNodes, function (part) {
        var copy = part.cloneNode(true);
        if (copy.nodeName === "TIME") { var strong = document.createElement("b"); strong.appendChild(copy); copy = strong; }
        box.appendChild(copy);
      });
    }
  }
  function filter() {
    var table = document.querySelector("#tickets .wide");
    if (!table) { return; }
    var tools = document.createElement("div"), field = document.createElement("input");
    tools.className = "tools";
    field.type = "search";
    field.placeholder = "Find a ticket";
    field.setAttribute("aria-label", "Find a ticket");
    field.addEventListener("input", function () {
      var wanted = field.value.trim().toLowerCase();
      table.querySelectorAll("tbody tr").forEach(function (row) {
        row.hidden = wanted !== "" && row.querySelector("th").textContent.toLowerCase().indexOf(wanted) < 0;
      });
    });
    tools.appendChild(field);
    table.parentNode.insertBefore(tools, table);
  }
  filter();
  mark();
  setInterval(mark, 30000);
}());
