"use strict";
// Words for people, in the language of the page.  English is written where it is said and is the key of its translation;
// the page brings the translations of what scripts say (web/spoken.py), and none where English is spoken.
const { texts: translated = {}, forms: formOf = [] } = JSON.parse(document.getElementById("words")?.textContent || "{}");

function tr(text, parts = {}) { return filledIn(translated[text] || text, parts); }

// The same where it depends on a count; a language may have more forms than the two of English.
function trn(one, many, count, parts = {}) {
  const forms = translated[one] || [one, many];
  return filledIn(forms[formOf.length ? formOf[count < 200 ? count : 100 + (count % 100)] : Number(count !== 1)], { count, ...parts });
}

function filledIn(text, parts) { return text.replace(/\{(\w+)\}/g, (whole, name) => (name in parts ? parts[name] : whole)); }
