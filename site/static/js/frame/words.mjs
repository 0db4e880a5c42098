/**
 * The page's own words: every wording stands in `<template id="words">`, none in a script.
 *
 * @param {string} key
 * @param {Record<string, string | number>} [filled] Values for the {names} in the text.
 */
export function word(key, filled = {}) {
  const spanish = document.getElementById("words-es"); // on a page that carries both languages
  const template = spanish && document.documentElement.lang === "es" ? spanish : document.getElementById("words");
  const holder = template instanceof HTMLTemplateElement ? template.content : document;
  const text = holder.querySelector(`[data-word="${CSS.escape(key)}"]`)?.textContent?.trim() ?? key;
  return text.replace(/\{(\w+)\}/g, (whole, name) => String(filled[name] ?? whole));
}
