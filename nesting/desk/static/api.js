// Everything that is asked of the server. A refusal becomes an Error whose message is for the
// builder.

export class Refusal extends Error {
  constructor(kind, text) {
    super(text);
    this.kind = kind;
  }
}

async function answered(response) {
  const isJson = (response.headers.get("content-type") || "").includes("json");
  const content = isJson ? await response.json() : null;
  if (response.ok) return content;
  const error = content?.error ?? {
    kind: "fault",
    text: "The desk did not answer as expected. Reload the page.",
  };
  throw new Refusal(error.kind, error.text);
}

async function asked(path, options) {
  let response;
  try {
    response = await fetch(`/api/1/${path}`, options);
  } catch {
    throw new Refusal("gone", "The desk does not answer. Is `sheetwood desk` still running?");
  }
  return answered(response);
}

export const get = (path) => asked(path, {});

export const post = (path, content = {}) =>
  asked(path, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(content),
  });

export const send = (file) =>
  asked(`plans?name=${encodeURIComponent(file.name)}`, { method: "POST", body: file });

export const sendOffcut = (file, said) =>
  asked(`offcuts?${new URLSearchParams({ name: file.name, ...said })}`, {
    method: "POST",
    body: file,
  });

export const fileAddress = (name) => `/api/1/files/${encodeURIComponent(name)}`;

export const tileAddress = (plan, key, level, column, row) =>
  `/api/1/plans/${plan}/tiles/${key}/${level}/${column}/${row}.png`;
