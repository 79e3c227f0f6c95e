// Before anything is painted: light or dark as the reader chose it last.
"use strict";
try {
  const look = localStorage.getItem("planner-look");
  if (look === "light" || look === "dark") document.documentElement.dataset.look = look;
} catch { /* no store: as the system */ }
