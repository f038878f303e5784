// What modules of the page ask of a browser while they are loaded, where there is none: listeners
// that nobody calls, and a server that answers what a test says.

/** @type {Record<string, unknown>} what each address answers */
export const answers = {};
/** @type {{ path: string, body: unknown }[]} what was asked, in order */
export const asked = [];

class Element {
  textContent = "";
}

Object.assign(globalThis, {
  document: {
    addEventListener() {},
    dispatchEvent() {},
    getElementById: () => new Element(),
  },
  Element,
  /**
   * @param {string} address
   * @param {{ body?: string }} options
   */
  async fetch(address, { body = "null" }) {
    const path = address.replace("/api/1/", "");
    asked.push({ path, body: JSON.parse(body) });
    return Response.json(await answers[path]);
  },
});
