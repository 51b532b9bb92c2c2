// Addresses of our own scripts, and text to be read as XML, for browsers that
// want them approved.

type Policy = { createScriptURL(url: string): unknown; createHTML(text: string): unknown };
type Factory = { createPolicy(name: string, rules: { createScriptURL(url: string): string; createHTML(text: string): string }): Policy };

const factory = (self as unknown as { trustedTypes?: Factory }).trustedTypes;
const own = (url: string) => {
  const full = new URL(url, document.baseURI);
  if (full.origin !== location.origin) throw new TypeError("a script from elsewhere: " + full.href);
  return full.href;
};
const rules = { createScriptURL: own, createHTML: (text: string) => text };
const policy: Policy = factory ? factory.createPolicy("spareamps", rules) : rules;

export const scriptURL = (name: string) => policy.createScriptURL(name);

/** A document of XML, never of HTML, and never shown: nothing in it runs. */
export const xmlOf = (text: string): XMLDocument => new DOMParser().parseFromString(policy.createHTML(text) as string, "application/xml");
