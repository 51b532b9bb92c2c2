// Addresses of our own scripts, for browsers that want them approved.

type Policy = { createScriptURL(url: string): unknown };
type Factory = { createPolicy(name: string, rules: { createScriptURL(url: string): string }): Policy };

const factory = (self as unknown as { trustedTypes?: Factory }).trustedTypes;
const own = (url: string) => {
  const full = new URL(url, document.baseURI);
  if (full.origin !== location.origin) throw new TypeError("a script from elsewhere: " + full.href);
  return full.href;
};
const policy: Policy = factory ? factory.createPolicy("spareamps", { createScriptURL: own }) : { createScriptURL: own };

export const scriptURL = (name: string) => policy.createScriptURL(name);
