"use strict";
for (const s of document.querySelectorAll(".choose select")) s.addEventListener("change", () => s.form.requestSubmit());
