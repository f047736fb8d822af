// Words and figures as people read them. All words come with the page; nothing is written here.

/** A fixed label of the page by its dotted key, with its {fields} filled in. */
function word(page, key, fields) {
  let entry = page.words;
  for (const part of key.split(".")) entry = entry === undefined || entry === null ? undefined : entry[part];
  if (typeof entry !== "string") return key;
  return fields ? entry.replace(/\{(\w+)\}/g, (all, name) => (name in fields ? String(fields[name]) : all)) : entry;
}

/** Minutes and seconds: 72.4 gives "1:12". */
function clockText(seconds) {
  const whole = Math.max(0, Math.floor((seconds || 0) + 1e-6));
  return Math.floor(whole / 60) + ":" + String(whole % 60).padStart(2, "0");
}

/** Minutes or marks without needless decimals: 8 gives "8", 0.5 gives "0.5", -2 has a true minus. */
function minutesText(minutes) {
  const rounded = Math.round((minutes || 0) * 10) / 10;
  return (Number.isInteger(rounded) ? String(rounded) : rounded.toFixed(1)).replace("-", "\u2212");
}

const UNIT_SYSTEMS = {
  metric: { vacuum: { name: "kPa", size: 1e3, decimals: 0 }, pressure: { name: "bar", size: 1e5, decimals: 1 } },
  us: { vacuum: { name: "inHg", size: 3386.389, decimals: 1 }, pressure: { name: "psi", size: 6894.757293, decimals: 0 } },
};

/** The unit a gauge shows: conversion factors of NIST SP 811. */
function gaugeUnit(units, quantity) {
  return (UNIT_SYSTEMS[units] || UNIT_SYSTEMS.metric)[quantity === "vacuum" ? "vacuum" : "pressure"];
}

function shareText(share) {
  return Math.round(100 * share) + " %";
}

function capitalised(text) {
  return text ? text[0].toUpperCase() + text.slice(1) : text;
}
