// The pad that takes a board without straight edges off a photo: it lies on a sheet of known size.

import { sendOffcut } from "./api.js";
import { h, s, slip, speak } from "./dom.js";
import * as format from "./format.js";
import { attempt, choose, refresh } from "./store.js";

const SHEETS = ["A4", "A3", "A2", "A1", "A0", "Letter"];

export function offcutForm(ui, render) {
  ui.photo ??= { file: null, address: null, size: null, grain: "", isBusy: false };
  const { photo } = ui;
  return h("form", { "data-key": "offcut", onsubmit: (event) => { event.preventDefault(); keep(event.currentTarget.elements, ui, render); } },
    h("h2", {}, "Offcut by photo"),
    h("p", { class: "hint" }, "Lay the board wholly on a sheet of paper or card of another brightness, and take the whole sheet into the picture, from straight above."),
    h("label", {}, "The photo", h("input", { type: "file", name: "photo", accept: "image/*", capture: "environment", required: true, "data-key": "offcut-photo",
      onchange: (event) => look(event.currentTarget.files[0] ?? null, photo, render) })),
    h("label", {}, "The sheet that it lies on", h("input", { name: "sheet", value: "A4", required: true, list: "offcut-sheets", "data-key": "offcut-sheet", autocomplete: "off" })),
    h("datalist", { id: "offcut-sheets" }, SHEETS.map((name) => h("option", { value: name }))),
    h("p", { class: "hint" }, "A3, A4, Letter, or two lengths such as 420 x 297 mm."),
    [["board", "Name", ""], ["material", "Material", "balsa"], ["thickness", "Thickness", ""]].map(([name, label, value]) =>
      h("label", {}, label, h("input", { name, value, required: true, "data-key": `offcut-${name}`, autocomplete: "off" }))),
    h("label", {}, "Mass on the scale", h("input", { name: "mass", "data-key": "offcut-mass", autocomplete: "off" })),
    photo.size ? preview(photo, render) : null,
    h("label", {}, "Grain: two pixels of the photo along it", h("input", { name: "grain", value: photo.grain, placeholder: "along the long side", "data-key": "offcut-grain", autocomplete: "off",
      onchange: (event) => { photo.grain = event.currentTarget.value; render(); } })),
    h("button", { class: "main", type: "submit", "data-key": "offcut-keep", disabled: photo.isBusy }, photo.isBusy ? "Looking for the board …" : "Put it in the rack"));
}

// The photo as the browser shows it is as the server reads it: both turn it as the camera says.
function look(file, photo, render) {
  if (photo.address) URL.revokeObjectURL(photo.address);
  Object.assign(photo, { file, address: file && URL.createObjectURL(file), size: null, grain: "" });
  render();
  if (!file) return;
  const picture = new Image();
  picture.onload = () => { if (photo.file === file) { photo.size = [picture.naturalWidth, picture.naturalHeight]; render(); } };
  picture.src = photo.address;
}

const numbers = (text) => text.split(",").filter((one) => one.trim()).map(Number);

function preview(photo, render) {
  const [width, height] = photo.size;
  const at = numbers(photo.grain);
  const dot = Math.max(width, height) / 90;
  return h("div", {},
    h("p", { class: "hint" }, "Click two points along the grain; without them it is taken to run along the long side."),
    s("svg", { class: "photo", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": "The photo; the field below takes the same two points by keyboard", "data-key": "offcut-picture",
      onclick: (event) => {
        const box = event.currentTarget.getBoundingClientRect();
        const point = [((event.clientX - box.left) / box.width) * width, ((event.clientY - box.top) / box.height) * height].map(Math.round);
        photo.grain = (at.length === 2 ? [...at, ...point] : point).join(",");
        render();
      } },
    s("image", { href: photo.address, width, height }),
    at.length === 4 && at.every(Number.isFinite) ? s("line", { class: "along", x1: at[0], y1: at[1], x2: at[2], y2: at[3], "vector-effect": "non-scaling-stroke" }) : null,
    at.length >= 2 && at.every(Number.isFinite) ? s("circle", { class: "along", cx: at[0], cy: at[1], r: dot }) : null));
}

async function keep(fields, ui, render) {
  const { photo } = ui;
  const said = Object.fromEntries(["board", "material", "thickness", "sheet", "mass", "grain"].map((name) => [name, fields.namedItem(name).value.trim()]));
  photo.isBusy = true;
  render();
  const found = await attempt(() => sendOffcut(photo.file, said));
  photo.isBusy = false;
  if (found) {
    const text = `${found.board} is in the rack: ${format.size(found.size_mm)}, ${format.area(found.area_mm2)}. ${said.grain ? "" : "Its grain is taken to run along its long side. "}Undo takes it away.`;
    slip(text);
    speak(text);
    URL.revokeObjectURL(photo.address);
    ui.photo = null;
    ui.isPhoto = false;
    choose("board", found.board);
  }
  await refresh();
  render();
}
