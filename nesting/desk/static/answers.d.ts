// What the server answers, for the checks of these scripts. Written from nesting/desk/answers by
// `python -m tests.nesting.desk.page_types`; a test says when it is not current.
// No browser reads it.

/** `[accuracy]`: how well boards are measured, as standard deviations. */
export interface AccuracyTable {
  length: number;
  width: number;
  thickness: number;
  nominal_thickness: number;
  support: number;
  carved: number;
}

/** Another reading of a part: `pick` and `cutout`, added to its table, take it. */
export interface Alternative {
  outline: [number, number][][];
  outline_px: [number, number][][] | null;
  sure: number;
  why: string;
  at: [number, number];
  pick: [number, number][];
  cutout: [number, number][];
}

/** An item at another place or of another mass. */
export interface AlternativeItem {
  name: string;
  item: string;
  mass_g: number | null;
  station_mm: number | null;
  lateral_mm: number | null;
}

/** What an alternative would do to mass and balance. */
export interface AlternativeResult {
  name: string;
  mass_g: number;
  balance_mm: number;
  shift_mm: number;
  shift_sigma_mm: number;
  measurable: boolean;
  flying_mass_g: number | null;
}

/** A reading against its estimate. */
export interface AsBuilt {
  weighed: string;
  stage: string;
  estimated_g: number;
  estimated_sigma_g: number;
  weighed_g: number;
  flies_g: number;
  difference_g: number;
  difference_share: number;
  surprising: boolean;
}

/** What a proposal was asked for. */
export interface AssignWished {
  objective: "light" | "stiff" | null;
  limit: string | null;
  time: string;
  best: number;
}

/** One proposal of boards for all parts. */
export interface Assigned {
  parts: Given[];
  ballast_g: Record<string, number>;
  flying_mass_g: number | null;
  balance_mm: number[];
  stiffness_share: number;
  pairs: Matched[];
  ties: Record<string, string>;
  shared: string[];
  moves: Move[];
}

/** The best boards for all parts. */
export interface Assignment {
  best: Assigned[];
  proved: boolean;
  gap: number;
  bindings: Binding[];
  rounds: number;
  nestings: number;
  caution: string;
  notes: Said[];
  wish: AssignWished;
  now: ModelNow;
  is_current: boolean;
}

/** A value and its standard deviation, and where along the part it is found. */
export interface AtStation {
  value: number;
  sigma: number;
  station_mm: number;
}

/** The balance report, or why there is none, and what the job says of it. */
export interface Balance {
  report: BalanceReport | null;
  fault: string | null;
  range: [string, string] | null;
  plan: string | null;
  datum: [number, number] | null;
  aft: "right" | "left" | [number, number];
  lateral_mm: [number, number] | null;
  chord: Chord | null;
  readings: Reading[];
  finishes: Finish[];
  joints: Joint[];
  coats: string[];
  glues: string[];
  seats: Record<string, Seat>;
  in_place: string[];
  items: Item[];
  ballast: BallastPlace[];
  alternatives: AlternativeItem[];
}

/** Where the model balances, with what, and what would mend it. */
export interface BalanceReport {
  loadings: Loading[];
  range_mm: [number, number] | null;
  entries: Entry[];
  as_built: AsBuilt[];
  tip_ballast: BallastResult[];
  ballast: BallastResult[];
  flying_mass_g: number | null;
  flying_sigma_g: number | null;
  alternatives: AlternativeResult[];
  notes: Said[];
  fixes: Fix[];
  budget: Budget | null;
  stations: NamedStation[];
  wires: Wire[];
  side_view: SeenFromTheSide[];
}

/** A place where ballast may go. */
export interface BallastPlace {
  name: string;
  station_mm: number | null;
  at: [number, number] | null;
  lateral_mm: number;
  most_g: number | null;
  depth_mm: number | null;
}

/** What ballast a place would take, or why none there does. */
export interface BallastResult {
  place: string;
  station_mm: number;
  least_g: number | null;
  least_sigma_g: number | null;
  to_middle_g: number | null;
  plug_diameter_mm: number | null;
  plug_depth_mm: number | null;
  problem: string;
}

/** What keeps the best from being better, and by how much. */
export interface Binding {
  what: string;
  gain: number;
  unit: string;
  text: string;
}

/** `[[pattern.blade]]`: a saw blade at hand, by its size. */
export interface BladeTable {
  width: number;
  thickness: number;
  kerf: number;
  teeth: number;
}

/** A place of a board that parts keep off, or may lie on where softness does no harm. */
export interface Blemish {
  outline: [number, number][];
  is_soft: boolean;
  text: string;
  seen: string;
}

/**
 * A board of the rack; without a density where its row cannot be used, which `fault` then tells.
 */
export interface Board {
  number: number;
  name: string;
  material: string;
  thickness_mm: number;
  measured_thickness_mm: number | null;
  length_mm: number;
  width_mm: number;
  mass_g: number | null;
  cut: string | null;
  bow_mm: number | null;
  grain_deg: number;
  notes: string;
  outline: [number, number][][];
  is_offcut: boolean;
  blemishes: Blemish[];
  thickness_text: string;
  density_kg_m3: number | null;
  sigma_kg_m3: number | null;
  density_text: string | null;
  fault: string | null;
}

/** A mass by board. */
export interface BoardMass {
  board: string;
  mass_g: number;
  sigma_g: number;
}

/** Stiffness against the first board, lying flat and standing on edge. */
export interface BothWays {
  flatwise: Doubted;
  edgewise: Doubted;
}

export interface Bridge {
  from: [number, number];
  to: [number, number];
}

/** What the model weighs ready to fly against what it may weigh. */
export interface Budget {
  limit_g: number | null;
  target_g: number | null;
  groups: SpentOn[];
  flying_g: number;
  sigma_g: number;
  weighed_g: number;
  free_to_limit_g: number | null;
  free_to_target_g: number | null;
  with_ballast: boolean;
}

/** That for each way of loading. */
export interface Built {
  flatwise: BuiltRatio;
  edgewise: BuiltRatio;
  twist: BuiltRatio;
}

/**
 * How stiff a part is with what is glued onto it, against the first board, and where it is weakest.
 */
export interface BuiltRatio {
  ratio: Doubted;
  least: AtStation;
  greatest: AtStation;
  weakest_mm: number;
}

/** A panel that the job carves, and the ways to build it that `[[flex.option]]` names. */
export interface Carved {
  part: string;
  options: string[];
}

/** A part as cut against its outline; `file` is the map of deviations. */
export interface CheckAnswer {
  part: string;
  fit: CheckFit;
  tolerance_mm: number;
  edge: CheckEdge;
  area: CheckArea;
  places: CheckPlace[];
  profile: CheckOff[];
  weight: CheckWeight | null;
  notes: Said[];
  file: string;
}

/** The area as drawn and as cut. */
export interface CheckArea {
  drawn_mm2: number;
  as_cut_mm2: number;
  sigma_mm2: number;
}

/** Deviations of the whole edge, positive where wood is left. */
export interface CheckEdge {
  mean_mm: number;
  rms_mm: number;
  most_mm: number;
  least_mm: number;
  sigma_mm: number;
}

/** How the part on the scan was laid on its outline. */
export interface CheckFit {
  x_mm: number;
  y_mm: number;
  angle_deg: number;
  flipped: boolean;
  scale_share: number;
}

/** The deviation at one point of the edge. */
export interface CheckOff {
  ring: number;
  at: [number, number];
  off_mm: number;
}

/** A place that is off by more than the tolerance, numbered as on the map. */
export interface CheckPlace {
  number: number;
  kind: "proud" | "short" | "hole-off" | "hole-size";
  ring: number;
  at: [number, number];
  off_mm: number;
  sigma_mm: number;
  over_mm: number;
  text: string;
  towards?: [number, number];
}

/** What the part was to weigh, what it should weigh as cut, and what the scale said. */
export interface CheckWeight {
  board: string;
  drawn_g: number;
  as_cut_g: number;
  sigma_g: number;
  weighed_g: number | null;
  difference_g: number | null;
}

/** The mean chord that a range in percent counts from. */
export interface Chord {
  length_mm: number | null;
  leading_edge_mm: number | null;
  sections: ChordSection[];
}

/** A section of the wing that the mean chord is found from. */
export interface ChordSection {
  span_mm: number;
  chord_mm: number;
  leading_edge_mm: number;
}

/** What a comparison was asked for. */
export interface CompareWished {
  part: string;
  boards: string[];
  priority: "light" | "stiff" | "balanced";
}

/**
 * One board beside others for a part; figures of the whole model are null where the part has no
 * station.
 */
export interface Compared {
  board: string;
  mass_g: Doubted;
  difference_g: Doubted;
  density_kg_m3: Doubted;
  modulus_mpa: Modulus;
  stiffness_ratio: Doubted;
  strength_ratio: Doubted;
  equal_stiffness_thickness_mm: number;
  equal_stiffness_mass_g: number;
  run_out_share: number | null;
  inherited_bow_mm: number | null;
  fits: boolean | null;
  objection: string | null;
  default_density: boolean;
  built: Built | null;
  balance_mm: Doubted | null;
  balance_shift_mm: Doubted | null;
  ballast_g: number | null;
  flying_mass_g: Doubted | null;
}

/** Boards side by side for a part. */
export interface Comparison {
  part: string;
  loading: string;
  priority: string;
  boards: Compared[];
  advice: string;
  caution: string;
  notes: Said[];
  wish: CompareWished;
  now: string[];
  file: string;
  built_file: string | null;
  is_current: boolean;
}

/** A length of strip with what is cut from it. */
export interface CutLength {
  length_mm: number;
  origin: "offcut" | "at hand" | "new";
  cuts: StripCut[];
  rest_mm: number;
}

/** A value and its standard deviation. */
export interface Doubted {
  value: number;
  sigma: number;
}

/** An edit was made; `told` is what is to be said of it beyond what was asked for. */
export interface EditAnswer {
  revision: string;
  told: string | null;
}

/** A mass of the ledger at its station. */
export interface Entry {
  part: string;
  heading: string;
  what: string;
  stage: string;
  mass_g: number;
  sigma_g: number;
  station_mm: number;
  lateral_mm: number;
  fuel: boolean;
  weighed: boolean;
}

/** The newest finding of each kind. */
export interface FindingsAnswer {
  compare: Comparison | null;
  assign: Assignment | null;
  trial: Trial | null;
  flex: Flexed | null;
}

/** What is done to the faces of some parts. */
export interface Finish {
  parts: string[];
  both: string[];
  top: string[];
  bottom: string[];
  edges: string[];
  sanding_mm: number;
}

/** A way into the balance range. */
export interface Fix {
  kind: "ballast" | "alternative" | "board";
  part: string | null;
  board: string | null;
  alternative: string | null;
  ballast_g: number;
  place: string | null;
  flying_mass_g: number;
  flying_sigma_g: number;
  text: string;
}

/** One way to build a panel against the first: frequencies and stiffness are ratios. */
export interface FlexOption {
  name: string;
  mass_g: number;
  mass_sigma_g: number;
  first_bending: number;
  first_twist: number;
  sigma_share: number;
  twist_sigma_share: number;
  stiffness: number;
  stiffness_sigma_share: number;
  own_sag_mm: number;
  load_sag_mm: number;
  elastic_axis_share: number;
  balance_share: number;
}

/** What ways to build a panel were asked for. */
export interface FlexWished {
  part: string;
  options: string[];
}

/** Ways to build a panel side by side. */
export interface Flexed {
  part: string;
  load_g: number;
  options: FlexOption[];
  caution: string;
  notes: Said[];
  wish: FlexWished;
  is_current: boolean;
}

/**
 * One field of a step or a carving: kind of value, label, and what holds where nothing is given.
 */
export interface FormField {
  key: string;
  kind: string;
  label: string;
  ends: [string, string];
  is_needed: boolean;
  default: string | null;
  choices: (string | number)[];
}

/** The forms of all kinds of steps, and of a carving. */
export interface FormsAnswer {
  steps: StepForm[];
  carve: FormField[];
}

/** Pieces of a part from one board. */
export interface Given {
  part: string;
  board: string;
  pieces: number;
  mass_g: number;
}

/** A step or a carving, as its table and in words. */
export interface InWords {
  table: Record<string, any>;
  text: string;
}

/** Equipment with its mass and station. */
export interface Item {
  name: string;
  mass_g: number;
  spread_g: number;
  station_mm: number | null;
  at: [number, number] | null;
  lateral_mm: number;
  fuel: boolean;
}

/** What the job is called and how it is shown. */
export interface JobHead {
  name: string;
  units: "mm" | "in";
}

/** A glued joint. */
export interface Joint {
  name: string;
  parts: string[];
  glue: string;
  length_mm: number;
  width_mm: number;
}

export interface Known {
  from: [number, number];
  to: [number, number];
  length_mm: number;
  residual_mm: number | null;
}

/** A board with what lies on it. */
export interface LaidBoard {
  name: string;
  placements: Placement[];
  used_fraction: number;
  used_length_mm: number;
}

/** The kept layout, and whether it was made from the job as it is now. */
export interface Layout {
  boards: LaidBoard[];
  unplaced: UnplacedCopy[];
  proved: boolean;
  notes: Said[];
  faults: string[];
  is_current: boolean;
}

/** The radial distortion of a photo. */
export interface LensBulge {
  strength: number;
  centre: [number, number];
  reach_px: number;
}

/** The model with its tank filled to some share. */
export interface Loading {
  fuel_share: number;
  mass_g: number;
  mass_sigma_g: number;
  balance_mm: number;
  balance_sigma_mm: number;
  balance_share_of_chord: number | null;
  lateral_mm: number;
  in_range: boolean | null;
}

/** A line or spot for the builder that a part's pattern carries. */
export interface Mark {
  kind: string;
  at: [number, number][];
  text: string;
}

/**
 * A pair as it was given boards: how far its wood differs, and what is left over about the middle.
 */
export interface Matched {
  pair: string;
  boards: [string, string][];
  weight_apart: number;
  stiffness_apart: number;
  gradient_apart: number;
  moment_g_mm: number | null;
  tip_weight_g: number | null;
}

/** The model as it stands, to hold a proposal against. */
export interface ModelNow {
  mass_g: number;
  balance_mm: number | null;
  range_mm: [number, number] | null;
}

/** A modulus, and whether it was measured. */
export interface Modulus {
  value: number;
  sigma: number;
  measured: boolean;
}

export interface Move {
  part: string;
  from: string[];
  to: string[];
  mass_g: number;
  change_g: number | null;
}

/**
 * A named place, mm aft of the datum and mm up; a line has its other end and its angle to the datum
 * line.
 */
export interface NamedStation {
  name: string;
  station_mm: number;
  height_mm: number;
  to_mm: [number, number] | null;
  line_deg: number | null;
  loadings: StationAt[];
}

/** `[nest]`. */
export interface NestTable {
  tool: "saw" | "knife" | "laser" | "router";
  kerf: number | null;
  clearance: number | null;
  ends: number;
  edges: number;
  cutouts: boolean;
  entry_hole: number;
  side_by_side: [string, string][];
  soft_patches: string[];
  pin: PinTable[];
  seed: number;
}

/** What the builder does next, and the view where it is done. */
export interface NextStep {
  code: string;
  text: string;
  view: "plan" | "parts" | "rack" | "weight" | "patterns";
}

/** A board as it was found on a photo. */
export interface OffcutAnswer {
  number: number;
  size_px: [number, number];
  outline_px: [number, number][][];
  corners_px: [[number, number], [number, number], [number, number], [number, number]];
  notes: Said[];
  size_mm: [number, number];
  area_mm2: number;
}

/** Size of a board that was found on a photo, its mass by a density, its density by a mass. */
export interface OffcutSize {
  size_mm: [number, number];
  area_mm2: number;
  mass_g: number | null;
  density_kg_m3: number | null;
}

/** An outline as its curves, in millimetres. */
export interface OutlineShape {
  exterior: RingShape;
  cutouts: RingShape[];
}

/** A page that a plan's file holds. */
export interface PageOfFile {
  number: number;
  kind: string;
  width: number;
  height: number;
  size_mm: [number, number] | null;
  layers: string[];
}

/** A part as it is asked for and as it stands; pieces that steps made of a part have `piece_of`. */
export interface Part {
  from: string | null;
  number: number;
  name: string;
  plan: string | null;
  pick: [number, number][];
  cutout: [number, number][];
  fill: [number, number][];
  line: string;
  mirror: [number, number][] | null;
  material: string | null;
  thickness_mm: number | null;
  grain: [number, number][] | string | null;
  grain_tolerance: number | string;
  count: number;
  hand: string;
  board: string | null;
  weighed_g: number | null;
  weighed_as: string | null;
  is_cut: boolean;
  loaded: string;
  use: string;
  flat_mm: number | null;
  density_kg_m3: [number, number] | null;
  least_stiffness_mpa: number | null;
  cuts: string[];
  boards: string[];
  substitutes: Substitute[];
  marks: Mark[];
  fault: string | null;
  state: "not traced" | "traced" | "on a board" | "cut" | "weighed";
  piece_of: string | null;
  pieces: string[];
  steps: InWords[];
  carve: InWords | null;
  outline: [number, number][][] | null;
  area_mm2?: number;
  size_mm?: [number, number];
  centroid_mm?: [number, number];
  copies?: number;
  grain_deg?: number;
  is_grain_assumed?: boolean;
  is_grain_free?: boolean;
  perimeter_mm?: number;
  shape?: OutlineShape;
  outline_px?: [number, number][][] | null;
  filled_px?: [number, number][][];
  sigma_edge_mm?: number;
  sigma_area_mm2?: number;
  pen_width_mm?: number;
  sure?: number;
  alternatives?: Alternative[];
  is_corrected?: boolean;
  notes?: Said[];
}

/** `[pattern]`. */
export interface PatternTable {
  paper: string;
  margin: number;
  overlap: number;
  printer: [number, number];
  mirror: boolean;
  style: "stick-on" | "card";
  without: string[];
  formats: ("pdf" | "svg" | "dxf" | "png")[];
  pages: number;
  dxf: "R12" | "R2000" | "R2010";
  overlay: boolean;
  blade: BladeTable[];
}

/** How a plan is shown; no picture while it is being made ready. */
export interface PictureAnswer {
  key: string;
  picture: Tiles | Sketch | null;
}

/** `[[nest.pin]]`: a copy that stays where it is put. */
export interface PinTable {
  part: string;
  copy_number: number;
  board: string;
  x: number;
  y: number;
  angle: number;
  flipped: boolean;
}

/** Where a copy lies: mirrored in x if `flipped`, then turned, then moved. */
export interface Placement {
  part: string;
  copy: number;
  x_mm: number;
  y_mm: number;
  angle_deg: number;
  flipped: boolean;
  pinned?: boolean;
  holds?: boolean;
}

/** A plan of the job and how it was read. */
export interface Plan {
  number: number;
  name: string;
  file: string;
  page: number;
  edge: string;
  size: string | null;
  axes: string;
  flatten: string[];
  gap_mm: number;
  layers: string[] | null;
  sheet: string | null;
  corners: [number, number][] | null;
  bridges: Bridge[];
  is_drawing: boolean;
  pages: PageOfFile[];
  known: Known[];
  scale: Scale | null;
  notes: Said[];
  fault: string | null;
}

/** What a plan says of the job, and in which units. */
export interface PlanSays {
  units: "mm" | "in";
  is_scale_sure: boolean;
  why: string;
  lengths: ReadLength[];
  drawn_size: string | null;
  parts: ReadPart[];
  unlettered: [number, number][];
  notes: Said[];
}

export interface ReadLength {
  from: [number, number];
  to: [number, number];
  length: string;
  length_mm: number;
  off_mm: number | null;
  written: string;
  text: number;
}

/**
 * A part as its plan labels it; `table` holds what is sure of it as `job.toml` would, `texts` its
 * lettering.
 */
export interface ReadPart {
  number: string;
  at: [number, number];
  outline_px: [number, number][];
  is_lettered: boolean;
  name: ReadValue | null;
  material: ReadValue | null;
  thickness: ReadValue | null;
  count: ReadValue | null;
  hand: ReadValue | null;
  table: Record<string, any>;
  texts: number[];
}

/**
 * A value read off a plan: in words, as it was lettered, how sure (0 to 1), and what else it may
 * be.
 */
export interface ReadValue {
  value: string;
  sure: number;
  is_accepted: boolean;
  written: string;
  others: [string, number][];
}

/** What a scale said of some parts together. */
export interface Reading {
  parts: string[];
  mass_g: number;
  stage: string | null;
  balance_mm: number | null;
}

/**
 * How far reading a plan has come, what it says once that is done, and what the builder left out of
 * it.
 */
export interface ReadingAnswer {
  key: string;
  state: "none" | "running" | "done" | "failed" | "stopped";
  text: string;
  says: PlanSays | null;
  left_out: string[];
}

/** A closed shape of a plan. */
export interface Region {
  name: string;
  at: [number, number];
  outline_px: [number, number][][];
  size_mm: [number, number];
  area_mm2: number;
  perimeter_mm: number;
}

/** The closed shapes of a plan, or none yet, and whether they are being looked for. */
export interface RegionsAnswer {
  regions: Region[] | null;
  is_searched: boolean;
}

/** A pattern file that was written. */
export interface ResultFile {
  name: string;
  bytes: number;
}

/**
 * A closed boundary: its start, then a line [x, y], an arc [x, y, bulge] or a cubic [x1, y1, x2,
 * y2, x, y] each.
 */
export interface RingShape {
  start: [number, number];
  pieces: number[][];
}

/** What a stage repaired or left open, and where. */
export interface Said {
  code:
    | "axes"
    | "bend-test-limit"
    | "bend-test-not-used"
    | "board-not-weighed"
    | "board-used-up"
    | "bridged"
    | "brought-in"
    | "carved"
    | "coat-without-stiffness"
    | "colour-to-grey"
    | "corners"
    | "corrected"
    | "crossed"
    | "cut-already"
    | "from-strip"
    | "cut-short"
    | "cutout"
    | "cutout-stretched"
    | "default-density"
    | "doubler-ends"
    | "doubtful"
    | "doubtful-corner"
    | "dpi-missing"
    | "dpi-not-credible"
    | "dpi-stated"
    | "draft-open"
    | "drawn-size"
    | "dynamic-modulus"
    | "edge-strip"
    | "fits-no-board"
    | "foreshortened"
    | "gradient-not-resolved"
    | "grain-assumed"
    | "grain-cut"
    | "grain-run-out"
    | "hole-missing"
    | "hole-not-drawn"
    | "jobs-failed"
    | "kept-edited-file"
    | "kept-in-place"
    | "kerf-cut-out"
    | "kerf-cut-out-neck"
    | "kerf-neck"
    | "kerf-slot"
    | "kernels-not-kept"
    | "laminated"
    | "layers"
    | "left-out"
    | "lens"
    | "lightening"
    | "lies-either-way"
    | "missing-character"
    | "need-not-met"
    | "negative"
    | "no-balance-entry"
    | "no-board"
    | "no-cutout"
    | "no-parts"
    | "no-scale"
    | "no-station"
    | "no-wood"
    | "noisy"
    | "not-carved"
    | "not-flat"
    | "not-lettered"
    | "not-made"
    | "off-outline"
    | "open-cutout"
    | "open-fill"
    | "open-line"
    | "open-part"
    | "out-of-range"
    | "over-budget"
    | "page-kind"
    | "page-of-many"
    | "panels-compared"
    | "panels-not-weighed"
    | "picked-again"
    | "pin-lost"
    | "planked"
    | "pool-unplaced"
    | "rescaled"
    | "same-shape"
    | "scarfed"
    | "seam"
    | "scan-scale"
    | "scan-scale-unsure"
    | "section-end"
    | "section-left-out"
    | "section-nose"
    | "section-scaled"
    | "several-boards"
    | "sheet"
    | "shown-beside"
    | "shown-on-face"
    | "skew"
    | "slot-width"
    | "spliced"
    | "stage-assumed"
    | "stage-failed"
    | "stiffness-by-trend"
    | "stiffness-readings-differ"
    | "stretched"
    | "strip-too-short"
    | "substitute-offered"
    | "tab"
    | "tag"
    | "taps-dropped"
    | "thick-for-knife"
    | "thin-web"
    | "tone-not-used"
    | "tone-unchecked"
    | "tone-damped"
    | "too-loud"
    | "torn"
    | "units-missing"
    | "units-not-credible"
    | "units-stated"
    | "unlikely-size"
    | "unplaced"
    | "wing-seat"
    | "worker-lost";
  part: string | null;
  at: [number, number] | null;
  text: string;
  state: "fixed" | "open";
}

/** The map from places on the plan to millimetres. */
export interface Scale {
  mm_per_px: [number, number];
  skew_deg: number;
  page_mm: [number, number];
  sigma: number;
  is_true_size: boolean;
  matrix: [[number, number, number], [number, number, number], [number, number, number]];
  lens: LensBulge | null;
}

/** How a part that is not drawn in place comes to its station. */
export interface Seat {
  part: string;
  station_mm: number | null;
  anchor: [number, number] | null;
  at: [number, number] | null;
  angle_deg: number;
  lateral_mm: number;
  from_above: boolean;
}

/** A part on the side view: mm aft of the datum, mm up. */
export interface SeenFromTheSide {
  part: string;
  rings: [number, number][][];
}

/** What wood is still to be bought, and all that the job takes. */
export interface Shopping {
  wanted: WantedBoard[];
  stock: Stock | null;
  fault: string | null;
}

/** A plan that is a drawing, shown by its own strokes. */
export interface Sketch {
  kind: "drawing";
  box: [number, number, number, number];
  is_y_up: boolean;
}

/** The drawn place nearest to a click. */
export interface SnapAnswer {
  at: [number, number] | null;
}

/** What a group of the budget weighs and may weigh. */
export interface SpentOn {
  group: string;
  mass_g: number;
  sigma_g: number;
  allowed_g: number | null;
}

/** Everything that the page shows of the job. */
export interface State {
  revision: string;
  folder: string;
  tasks: TaskNews[];
  undo: string | null;
  redo: string | null;
  is_empty: boolean;
  is_followed: boolean;
  fault: string | null;
  job: JobHead;
  plans: Plan[];
  parts: Part[];
  boards: Board[];
  rack_fault: string | null;
  weights: Weights | null;
  balance: Balance;
  layout: Layout | null;
  nest: NestTable;
  accuracy: AccuracyTable;
  gap_mm: number;
  pattern: PatternTable;
  shopping: Shopping | null;
  files: ResultFile[];
  next: NextStep | null;
  carved: Carved[];
  notes: Said[];
  seen: Record<string, any>;
}

/** What is said where there is no job, or none that can be read. */
export interface StateOfNoJob {
  revision: string;
  folder: string;
  tasks: TaskNews[];
  undo: string | null;
  redo: string | null;
  is_empty: boolean;
  is_followed: boolean;
  fault: string | null;
}

/**
 * A named place for one loading: how far aft of the balance point, and of an axle the angle ahead
 * of it.
 */
export interface StationAt {
  fuel_share: number;
  from_balance_mm: number;
  sigma_mm: number;
  ahead_deg: number | null;
}

/** The form of one kind of step. */
export interface StepForm {
  make: string;
  title: string;
  fields: FormField[];
}

/**
 * All that the job takes: `heads` of the lines' texts, `cuts` of strips and the `total` in words.
 */
export interface Stock {
  lines: StockLine[];
  strips: StripPlan[];
  cost: number | null;
  unpriced: string[];
  currency: string;
  heads: string[];
  cuts: string[];
  total: string;
  hint: string;
  notes: Said[];
}

/** One thing that the job takes, also as the cells of a table (`texts`). */
export interface StockLine {
  kind: "board" | "strip" | "wire" | "covering" | "paint" | "glue";
  what: string;
  needed: number;
  unit: "mm" | "mm2" | "g" | "pieces";
  waste_share: number;
  taken: number;
  dry_g: number | null;
  packs: number | null;
  cost: number | null;
  parts: string[];
  problem: string;
  texts: string[];
}

/** A piece that is cut from a length, or that none holds. */
export interface StripCut {
  piece: string;
  length_mm: number;
}

/** How the pieces of one strip stock are cut. */
export interface StripPlan {
  strip: string;
  lengths: CutLength[];
  bought: number;
  least_bought: number;
  proved: boolean;
  left_out: StripCut[];
}

/** A line of a drawing, in its own units. */
export interface Stroke {
  points: [number, number][];
  width: number;
  is_closed: boolean;
  is_dashed: boolean;
  is_filled: boolean;
}

/** All strokes of a drawing. */
export interface StrokesAnswer {
  strokes: Stroke[];
}

/** Wood that a part may be made of instead. */
export interface Substitute {
  material: string;
  thickness_mm: number;
}

/** What taps on a board say: its tone, and E along the grain. */
export interface TapAnswer {
  board: string;
  frequency_hz: number;
  sigma_hz: number;
  modulus_gpa: number;
  sigma_gpa: number;
  taps: number;
  notes: Said[];
}

/** A piece of work that goes on in the background, or the last one of its kind. */
export interface TaskNews {
  number: number;
  kind: string;
  title: string;
  state: "running" | "done" | "failed" | "stopped";
  text: string;
  share: number | null;
}

/** A plan that is a picture: its size, and the tiles that it is shown by. */
export interface Tiles {
  kind: "picture";
  box: [number, number, number, number];
  is_y_up: boolean;
  width: number;
  height: number;
  levels: number;
  tile: number;
}

/** The same parts laid out on each of some boards alone. */
export interface Trial {
  wish: TrialWished;
  parts: string[];
  boards: TrialBoard[];
  notes: Said[];
  caution: string;
  is_current: boolean;
}

/** The same parts on one board alone. */
export interface TrialBoard {
  board: string;
  copies: number;
  placed: number;
  fits: boolean;
  used_length_mm: number;
  used_fraction: number;
  offcut_mm: [number, number];
  mass_g: number;
  sigma_g: number;
  placements: Placement[];
  proved: boolean;
  stiffness: BothWays;
  bent: boolean;
}

/** The boards that a trial was asked for. */
export interface TrialWished {
  boards: string[];
}

/** The step that was taken back or done again. */
export interface TurnAnswer {
  title: string;
}

/** A copy that lies on no board, and why. */
export interface UnplacedCopy {
  part: string;
  copy: number;
  reason: string;
}

/** Boards that are still to be bought, also as the cells of a table (`texts`). */
export interface WantedBoard {
  for: string;
  material: string;
  thickness_mm: number;
  length_mm: number;
  width_mm: number;
  boards: number;
  parts: string[];
  density_kg_m3: [number, number];
  asked_for: boolean;
  mass_g: [number, number];
  problem: string | null;
  texts: string[];
}

/** What a copy of a part weighs from one board; `chosen` is the board that it comes from. */
export interface Weight {
  part: string;
  copy: number;
  board: string;
  mass_g: number;
  sigma_g: number;
  chosen: boolean;
  reason: string;
  default_density: boolean;
  substitute: boolean;
  sawn_g: number;
  weighed_g?: number;
  weighed_as?: string | null;
  flies_g?: number;
  difference_g?: number;
}

/** What every copy weighs from every board, and the totals. */
export interface Weights {
  weights: Weight[];
  boards: BoardMass[];
  total_g: number;
  total_sigma_g: number;
  notes: Said[];
}

/** A bent wire: what to cut, its straight lengths and its bends, in order. */
export interface Wire {
  name: string;
  diameter_mm: number;
  length_mm: number;
  mass_g: number;
  straights_mm: number[];
  bends: WireBend[];
}

/** One bend of a wire: its angle, the arc of the middle line, and how far its plane is turned. */
export interface WireBend {
  angle_deg: number;
  arc_mm: number;
  turned_deg: number;
}
