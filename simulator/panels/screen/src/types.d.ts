// Types of what the kernel sends and of what the drawings hand to each other; all files see them by name.
// What comes from the kernel is described as it is sent by simulator/panels; quantities are SI unless a unit is named.

// ---- described elements --------------------------------------------------------------------------------------------

/** An element as it shall be: `on` handlers, `set` live properties, `key` among its brothers, the rest attributes. */
interface Described {
  tag: string;
  attributes: Attributes;
  children: Child[];
}
type Child = Described | string | number;
type Children = Child | null | undefined | false | "" | Children[];
/** An event whose target is the control that the handler stands on. */
type ControlEvent = Event & { target: HTMLInputElement; detail: number; key: string; isComposing: boolean };
interface Attributes {
  on?: Record<string, (event: any) => unknown>;
  set?: Record<string, unknown>;
  key?: string | number;
  /** What the element holds is made by somebody else. */
  own?: boolean;
  draw?: (element: any) => void;
  [name: string]: unknown;
}
type SvgAttributes = Record<string, string | number>;
type Point = [number, number];
type Box = [left: number, top: number, right: number, bottom: number];
type Fields = Record<string, unknown>;
type UnitSystem = string;

interface Unit {
  name: string;
  size: number;
  decimals: number;
}

// ---- the widget ----------------------------------------------------------------------------------------------------

/** The kernel's side of a widget, as the notebook hands it over. */
interface WidgetModel {
  get(name: string): any;
  set(name: string, value: unknown): void;
  save_changes(): void;
  on(name: string, call: (...heard: any[]) => void): void;
  off(name: string, call: (...heard: any[]) => void): void;
  send(message: object): void;
}

// ---- rig, run and frame --------------------------------------------------------------------------------------------

type HoseProfile = [s: number, z: number][];
/** Along the hose s, then across and up, in metres or in picture units. */
type Sample = [s: number, x: number, y: number];

/** The rig as far as it may be seen; every length in m. */
interface Rig {
  submergence_m?: number;
  water_drop_m?: number; // how far it went down as it ran, where it was dipped
  /** Nobody has measured the lift: it is what the caller said. */
  as_told?: boolean;
  bore_m: number;
  hose_length_m: number;
  profile: HoseProfile;
  joints?: number[];
  joint_holes_m?: number[];
  casing?: { height_m?: number; lip_fill?: number };
  discharge?: { length_m?: number; rise_m?: number };
  atmosphere_pa?: number;
  motive_rated_kg_s?: number;
  exhaust_rated_kg_s?: number;
  strainer_diameter_m?: number;
  liner_at?: number;
  belt_slack_shown?: number;
  drain_open_shown?: number | null;
  has_cock?: boolean;
  has_float?: boolean;
  has_motive_gauge?: boolean;
  rated_rpm?: number;
  opened?: string[];
  /** What was last seen of each part, by name. */
  parts?: Record<string, any>;
}

/** One moment as the pictures read it: second, channels by name, and what was seen. */
interface Frame {
  t: number;
  see_through?: boolean;
  [channel: string]: any;
}

interface RunInfo {
  id: number | string | null;
  shown?: number;
  duration?: number;
  primed?: boolean;
  holding?: boolean; // it pumps well, but has to do so for longer than the last time
  counts?: boolean; // it may be a proof: the hose was empty at the start
  wet?: boolean; // it was not started dry: its time tells little
  ended?: { sentence: string } | null;
  lost?: boolean; // it has pumped, and does no more
  let_out?: Record<string, number>; // Pa, needles whose pressure was let out since the engine stopped
  changed?: boolean; // work has changed the rig since it was started
  overdue?: boolean; // no water, though the time in which it must prime is over
  looked?: boolean; // a look that needs it running was made since then
  wait?: { key: string; sentence: string; good?: boolean } | null; // the clock waits for the learner, once a key
}

interface SamplesMessage {
  run: number | string;
  start: number;
  step?: number;
  channels: string[];
  stepped?: string[];
  count: number;
  final?: boolean;
  replace_from?: number | null;
}

// ---- charts that stand still ------------------------------------------------------------------------------------------

interface StillFigure {
  data: { x: number[]; customdata: string[]; hovertemplate: string; [more: string]: any }[];
  layout: { height: number; xaxis: { range: Point; [more: string]: any }; [more: string]: any };
  config: object;
  table: { title: string; columns: string[]; rows: string[][]; told: string[] };
  spoken: string;
  words: Words;
}

// ---- the exercise page ---------------------------------------------------------------------------------------------

interface ActItem {
  id: string;
  label: string;
  kind: "check" | "remedy" | "engine" | "precaution";
  icon: string;
  action: string;
  args?: object;
  minutes: number;
  part?: string;
  quick?: boolean;
  done?: boolean;
  risk?: string;
  again?: boolean; // tried as it stands, and nothing was done since
  opens?: boolean; // a look for which a part comes off or apart
  seen?: "good" | "bad"; // at one of several like places: what was seen there
  care?: string;
  choose?: string; // which of two works on one part it is
  saved: number;
  waits: string[];
  first?: string[];
  series?: string;
  series_label: string;
  short: string;
}
interface Place {
  id: string;
  label: string;
  items: ActItem[];
}
interface Named {
  id: string;
  label: string;
}
interface Suspect extends Named {
  family_label?: string;
  places?: Named[];
  mended_at?: string; // the place on the list where the work on it stands
}
interface LockedCall {
  stage: number;
  markers?: Record<string, number>;
  places?: Record<string, string>;
}
interface CallDraft {
  stage?: number;
  suspects: string[];
  markers: Record<string, number>;
  places: Record<string, string>;
  touched?: boolean; // somebody is at it: a second call begins as a copy of the first
}
interface CallPage {
  open?: boolean;
  stage?: number;
  markers?: number;
  most?: number;
  suspects?: Suspect[];
  locked?: LockedCall[];
}
interface Ask {
  id: string;
  question: string;
  options?: Named[];
  number?: { low: number; high: number; step?: number; unit?: string };
}
interface GaugeSpec {
  id: string;
  label: string;
  quantity: "vacuum" | "pressure" | "compound";
  low_pa: number;
  high_pa: number;
  units: Record<UnitSystem, GaugeUnit>;
  system?: UnitSystem;
}
type Dial = ReturnType<typeof import("./gauges/dial.js").createDial>;
interface GaugeUnit {
  name: string;
  size_pa: number;
  major: number;
  minor: number;
  low?: number;
  high?: number;
  decimals: number;
}
interface DebriefPart {
  label: string;
  points?: number | null;
  out_of: number;
  evidence?: string[];
  evidence_points?: number[];
}
interface DebriefStep {
  clock: string;
  act?: string;
  did?: string;
  reading?: string;
  changed?: string;
  before?: [label: string, share: number][];
  after?: [label: string, share: number][];
  expert?: string;
  expert_line?: string;
  why?: string;
  lost_minutes: number;
}
interface Debrief {
  gate?: string;
  failed?: string;
  stopped?: boolean;
  total?: number | null;
  out_of?: number;
  truth?: string;
  truth_names?: string[];
  practise?: string;
  parts?: DebriefPart[];
  steps?: DebriefStep[];
  curves?: DebriefCurves;
  worked?: { title: string; note: string; said: string[] };
  how_sure?: { title: string; said?: string; columns?: string[]; rows?: string[][] } | null;
}
interface DebriefCurves {
  sound: Point[];
  suspect: Point[];
  true: Point[];
  labels?: Record<string, string>;
  static_lift_pa?: number;
  figures?: Record<UnitSystem, StillFigure>;
}
interface EnginePage {
  running?: boolean;
  risk?: string;
  again?: boolean; // tried as it stands, and nothing was done since
  seen?: "good" | "bad"; // at one of several like places: what was seen there
  waits?: string[];
  first?: string[];
  speed?: string;
  speeds?: Named[];
}
/** What words and codes of a page are looked up in; the rest of the page is not needed for that. */
interface PageWords {
  words?: Record<string, any>;
  codes?: Record<string, string[]>;
  see_through?: boolean;
  rig?: Partial<Rig>;
}
interface ExercisePage extends PageWords {
  walk_found?: boolean; // the walk round has shown something that is not in order
  put_right?: "" | "something" | "nothing"; // what work has come to, as far as it could be seen
  pointed?: string; // at which of several like places the latest look from outside found something
  /** The latest look that showed what has to be put right, and what all such looks speak of; none told in an assessment. */
  found?: { place: string; suspects?: string[] } | null;
  serial?: number;
  attempt?: string;
  phase?: string;
  mode?: string;
  header: { title: string; rig_line?: string; brief?: string; badges?: string[] };
  /** The practice yard's own; `waits`: the learner's first call, until it is taken. */
  yard: { level: string; levels?: Named[]; waits?: boolean } | null;
  yard_minutes?: number | null;
  rig: Rig;
  gauges?: GaugeSpec[];
  drawing_words?: Words;
  /** What was done to the rig, each where it stands on the curve. */
  marks?: CurveMark[];
  curve?: {
    span_s?: number;
    static_lift_pa: number;
    as_told?: boolean;
    band?: BandPoint[] | null;
    earlier?: EarlierRun[];
  };
  run?: RunInfo | null;
  engine?: EnginePage;
  places?: Place[];
  notes?: { kind?: string; clock: string; text: string }[];
  ask: Ask | null;
  coach?: any;
  call: CallPage;
  finish?: { open: boolean; waits: string[]; args?: Record<string, unknown>; at_word?: boolean; why?: string };
  lapse?: Record<string, number> | null; // points a press takes off while it is not safe, by its risk
  notice?: string;
  held?: { title: string; text: string; stuck: string } | null; // the trainer holds the class
  caution?: string;
  again?: boolean;
  debrief?: Debrief | null;
  debrief_pending?: boolean;
  envelope?: boolean;
}
type ExerciseView = import("./exercise/view.js").ExerciseView;
/** What the stage needs of the page it stands on. */
interface StageHost {
  player: RunPlayer;
  page: ExercisePage;
  units: UnitSystem;
  root: HTMLElement;
  parts: { pictures: HTMLElement; instruments: HTMLElement };
  whole: { open: boolean };
  pressPart(parts: string[], name: string): void;
}
/** What the engine bar needs of the page it stands on. */
interface EngineBarHost {
  player: RunPlayer;
  page: ExercisePage;
  link: Pick<import("./exercise/link.js").EngineRoomLink, "busy">;
  parts: { bar: HTMLElement };
  warned: string | null;
  step?: import("./exercise/next_step.js").NextStep | null;
  whole?: { open: boolean };
  measured: { run: RunPlayer["run"]; version: number; upto: number; rpm: number } | null;
  span(): number;
  seek(time: number): void;
  setRate(rate: number): void;
  setHold(on: boolean): void;
  pressEngine(): void;
  act(key: string, action: string, args: any): void;
}
interface CurveMark {
  t: number;
  label: string;
}

// ---- the demonstration bench -----------------------------------------------------------------------------------------

type BenchView = import("./bench/view.js").BenchView;
interface BenchSize {
  label: string;
  unit: string;
  legal: string;
  usual: string[];
}
interface BenchFault {
  number: number;
  letter: string;
  label: string;
  size: BenchSize | null;
  now: string;
  target: string;
  told: boolean;
}
interface BenchAsk {
  id: string;
  question: string;
  options: (Named & { hands: number })[];
  shown: boolean;
}
interface BenchPage extends ExercisePage {
  inside: { here: boolean; wall: boolean };
  unit_names: Record<UnitSystem, string>;
  faults: BenchFault[];
  past: { number: number; label: string }[];
  choices: (Named & { group?: string; places: Named[]; size: BenchSize | null })[];
  grows: Named[];
  questions: Named[];
  asked: BenchAsk | null;
  new: { fields: Record<string, string>; rigs: Named[]; labels: Words };
  kept: { names: string[]; name: string; over: boolean };
}
/** What stands on the wall: nothing that is not seen from outside, told, or shown. */
interface WallPage extends ExercisePage {
  units: UnitSystem;
  told: string[];
  asked: BenchAsk | null;
  follows?: boolean; // a learner's clock: it is not held or turned back from here
}
type RunPlayer = import("./exercise/playback.js").RunPlayer;
type Heard = ReturnType<typeof import("./exercise/heard.js").heardFrom>;

interface Answer {
  id: string;
  accepted: boolean;
  sentence?: string;
  serial?: number;
}

// ---- strip chart ---------------------------------------------------------------------------------------------------

type Series = number[] | Float32Array;
type BandPoint = [t: number, low_pa: number, high_pa: number];
interface EarlierRun {
  label: string;
  points: Point[];
}
/** A curve beside the main one, as the strip chart keeps it. */
interface Strip {
  label: string;
  times: Series;
  values: Series;
}
interface Plot {
  width: number;
  height: number;
  left: number;
  right: number;
  top: number;
  bottom: number;
  lowTop: number;
  floor: number;
}
/** What is drawn, and in which unit; values are Pa, or whatever `unit.size` is one of. */
interface StripQuantity {
  title: string;
  /** What is said of the chart to those who do not see it; the title where nothing else is. */
  spoken: string;
  unit: Unit;
  high: number;
  /** Below zero where pressure stands in for vacuum: it bears a + as on the gauge. */
  low: number;
}
interface StripView {
  from: number;
  to: number;
  now: number;
  quantity: StripQuantity;
  times: Series;
  values: Series;
  motive: Series;
  /** Runs that were, drawn whole. */
  earlier: Strip[];
  /** Curves of the same run: they grow with it. */
  beside: Strip[];
  name: string;
  band: BandPoint[] | null;
  level: StripLevel;
  marks: CurveMark[];
  cursor: number | null;
  mark: Point | null;
  pressure: Unit;
  words: Words;
  ratio: number;
  colours: Record<string, string>;
  family: string;
  showMotive: boolean;
  pressureHigh: number;
}
/** A value to compare with; NaN for none. */
interface StripLevel {
  at: number;
  label: string;
}
interface StripScale {
  axis: { low: number; top: number; step: number };
  x(t: number): number;
  y(value: number): number;
  motive(pa: number): number;
}
interface StripOptions {
  /** Units of the needle's vacuum and of the motive pressure. */
  units?: UnitSystem;
  /** What is drawn, where it is not the needle's vacuum. */
  quantity?: StripQuantity;
  span_s?: number;
  height?: number;
  motive?: boolean;
}
interface StripData {
  time: Series;
  values: Series;
  motive?: Series;
  name?: string;
  beside?: Strip[];
}
type StripChart = ReturnType<typeof import("./trend/strip_chart.js").createStripChart>;

// ---- pictures ------------------------------------------------------------------------------------------------------

type Words = Record<string, string>;
interface PictureOptions {
  units?: UnitSystem;
  height?: number;
  legend?: boolean;
  labels?: "auto" | "names" | "numbers";
  onPart?: (parts: string[], name: string, place: string) => void;
}
interface Hotspot {
  parts: string[];
  name: string;
  x?: number;
  y?: number;
  reach?: number;
  near?: (x: number, y: number) => Point;
}
interface Picture {
  update(frame: Frame): void;
  destroy(): void;
  setUnits?(units: UnitSystem): void;
  /** Draw it so many px high, its words apart. */
  setHeight(height: number): void;
  /** How high its place is, and how high its words stand in it [px]. */
  sizes(): { cell: number; words: number };
}
/** Paint references: `whole[n]` the first n dots of four, `next[n]` the one after them. */
interface AirDots {
  whole: string[];
  next: string[];
}
type Course = ReturnType<typeof import("./picture/site/geometry.js").courseAlong>;
type SiteLayout = ReturnType<typeof import("./picture/site/geometry.js").siteLayout>;
type Land = ReturnType<typeof import("./picture/site/land.js").drawLand>;
type RigNodes = ReturnType<typeof import("./picture/site/land.js").drawRig>;
type LengthWords = ReturnType<typeof import("./picture/site/view.js").lengthWords>;
type PartLabels = Record<string, (text: string) => void>;

// ---- lessons -------------------------------------------------------------------------------------------------------

type LessonView = import("./lesson/view.js").LessonView;
/** A section of the page with what its block keeps on it; each is undefined until the block is first drawn. */
interface BlockSection extends HTMLElement {
  takeFileSaid?: string;
  lessonLive: any;
  lessonPlaces: Record<string, HTMLElement>;
  lessonFresh: boolean;
  lessonFor: string;
  lessonMade: string;
  lessonPage: string;
  lessonInner: BlockSection;
  lessonIndex: number;
  lessonValue: number;
  carryBusy: string;
  carrySaid: { sentence: string; tone: string };
  carryBlock: WorkFileBlock;
  fieldForm: FieldForm;
  fieldSerial: number;
  fieldBad: Set<string>;
  fieldTimer: ReturnType<typeof setTimeout> | undefined;
  fieldHear: (message: any) => void;
  fieldBlock: FieldSheetBlock;
  formTyped: Map<string, { value: string; over: string }>;
  fileAddresses: Map<string, any>;
  printAddress: import("./lesson/page_address.js").PageAddress;
  printAddresses: Map<string, import("./lesson/page_address.js").PageAddress>;
  deskTyped: import("./lesson/typed.js").Typed;
  deskSerial: number;
  deskTimer: ReturnType<typeof setTimeout> | undefined;
  deskName: string | undefined;
  deskNameOf: string;
  deskOpen: string | undefined;
  deskSeen: string;
  deskPicture: string | undefined;
  deskPressed: boolean;
  deskChosen: string;
  deskByKey: boolean;
  deskDrawn: Pick<Picture, "update" | "destroy"> | undefined;
}
interface BlockHead {
  id: string;
  kind: string;
  /** It stands in the box beside a desk. */
  aside?: boolean;
  /** How it is brought into view when it is new: "start", "nearest"; "not" also where an open question would be. */
  arrive?: string;
  arrive_for?: string;
}
interface LessonOption extends Named {}
interface Verdict {
  revealed?: boolean;
  good?: boolean;
  verdict?: string;
  says?: string[];
}
interface QuestionBlock extends BlockHead, Verdict {
  text: string;
  step?: string;
  note?: string;
  options: LessonOption[];
  answer?: string | number | null;
  right?: string;
  dial?: StandingDial;
  units: UnitSystem;
  low: number;
  high: number;
  unit: string;
  shown?: string;
  unsure?: boolean;
  hint?: { shown: string[]; more?: string };
}
interface StandingDial {
  spec: GaugeSpec;
  value: number;
  hide?: boolean;
}
interface TitleBlock extends BlockHead {
  text: string;
  kicker?: string;
  lead?: string;
}
interface ProseBlock extends BlockHead {
  paragraphs: string[];
}
interface HeadingBlock extends ProseBlock {
  text: string;
}
interface ListBlock extends BlockHead {
  title?: string;
  ordered?: boolean;
  items: string[];
}
interface FoldedBlock extends ProseBlock {
  title: string;
}
interface SafeBlock extends BlockHead {
  title: string;
  items: string[];
}
interface CautionBlock extends ProseBlock {
  title?: string;
  items?: string[];
  foot?: string;
  done?: string;
  button?: string;
  action: string;
}
interface NoticeBlock extends BlockHead {
  tone?: string;
  paragraphs: string[];
  quiet?: boolean;
  link?: { file?: string; address?: string; label: string };
  to?: { part: string; block?: string; label: string };
}
interface NameBlock extends BlockHead {
  label: string;
  value: string;
  button: string;
  hint: string;
  quiet?: boolean;
  /** What is done with it; "name" by default. */
  action?: string;
  /** How many letters it may have; 60 by default. */
  most?: string;
}
interface ChoicesBlock extends BlockHead {
  label: string;
  options: LessonOption[];
  value: string;
  action: string;
  note?: string;
}
interface ContentsBlock extends BlockHead {
  title: string;
  note?: string;
  items: { file: string; state: string; here?: boolean; number: string; title: string; says: string; detail: string }[];
}
interface LinksBlock extends BlockHead {
  links: { file: string; label: string }[];
  quiet?: boolean;
}
interface ButtonsBlock extends BlockHead {
  buttons: { label: string; action: string; args?: object; primary?: boolean; off?: boolean }[];
}
interface StepsBlock extends BlockHead {
  title: string;
  row?: boolean;
  items: { state: string; label: string; says: string; part?: string }[];
}
/** Words that are read one at a time. */
interface Stepped {
  title: string;
  paragraphs: string[];
}
interface IdeasBlock extends BlockHead {
  items: (Stepped & { rig: Rig; frame: Frame })[];
  seen?: boolean;
  units: UnitSystem;
  pictures: PictureName[];
  height?: number;
}
interface PagesBlock extends BlockHead {
  items: (Stepped & { figure: Block })[];
  seen?: boolean;
  units: UnitSystem;
}
interface TourBlock extends BlockHead {
  steps: (Stepped & { where: string })[];
  seen?: boolean;
}
type PictureName = "site" | "pump";
/** Pictures of a rig, side by side. */
interface RigPictures {
  rig: Rig;
  pictures: PictureName[];
  units: UnitSystem;
  height?: number;
  onPart?: (parts: string[], name: string, place: string) => void;
  letters?: string[];
}
interface PictureBlock extends BlockHead, RigPictures {
  frame: Frame;
  caption?: string;
}
interface GaugeBlock extends BlockHead {
  spec: GaugeSpec;
  units: UnitSystem;
  value: number;
  low: number;
  high: number;
  step: number;
  title: string;
  label: string;
  after?: string;
  paragraphs: string[];
  lines: { text: string; figures: (Unit & { name: string })[] }[];
}
interface DialsBlock extends BlockHead {
  items: StandingDial[];
  units: UnitSystem;
  caption?: string;
}
interface ExpertBlock extends BlockHead {
  step: string;
  text: string;
  by: string;
  answer: string;
  paragraphs: string[];
}
interface CompareBlock extends BlockHead {
  title: string;
  columns: string[];
  rows: { cells: string[] }[];
}
interface ChartBlock extends BlockHead {
  figure: StillFigure;
  caption?: string;
}
/** What a replay draws as it plays; the first line is the run's own, the others go beside it. */
interface ChartSpec {
  span_s: number;
  high_pa: number;
  height?: number;
  unit: Unit;
  axis_y: string;
  spoken: string;
  lines: { points: Point[]; label: string }[];
  levels: { pa: number; label: string }[];
}
interface ReplayTrack {
  id: string;
  label: string;
  rig: Rig;
  see_through?: boolean;
  step_s: number;
  series: Record<string, (number | string | null)[]>;
  chart: ChartSpec;
  says: { t: number; text: string }[];
}
interface ReplayBlock extends BlockHead {
  tracks: ReplayTrack[];
  seen: string[];
  units: UnitSystem;
  pictures: PictureName[];
  dials: GaugeSpec[];
  height: number;
  words: Words;
  /** Where one goes on once all runs were seen to their ends. */
  on?: { label: string; part: string; block: string };
}
interface PlannerSlider extends Named {
  value: number;
  low: number;
  high: number;
  step: number;
  unit: Unit;
}
interface PlannerBlock extends BlockHead {
  chart: { figure: StillFigure };
  words: Words;
  rigs: PlannerOption[];
  bores: PlannerOption[];
  sliders: PlannerSlider[];
  setup: { rig: string; bore: number };
  band_open?: boolean;
  trouble?: string;
  answer: string[];
  table: { total: number; title: string; page?: string; file: string; columns: string[]; rows: string[][] };
}
interface PlannerOption {
  /** A rig's name, or a bore in m. */
  value: string | number;
  label: string;
}
interface WorkFileBlock extends BlockHead {
  labels: Words;
  says: string[];
  urgent?: boolean;
  can_save?: boolean;
  can_load?: boolean;
  offer_save?: boolean;
}
/** What is typed: fields by their id, the rows of the table of readings, and what was seen, by the look's id. */
interface FieldForm {
  rows: string[][];
  looks: Record<string, string>;
  [field: string]: any;
}
interface FieldItem {
  id: string;
  kind: string;
  label: string;
  ask?: boolean;
  options?: Named[];
  only?: [field: string, values: string[]];
  unit?: string;
  unit_of?: string;
  wide?: boolean;
}
interface FieldColumn {
  label: string;
  unit_of?: string;
}
interface FieldGroup {
  id: string;
  title: string;
  hint?: string;
  folded?: boolean;
  table?: { columns: FieldColumn[] };
  fields: FieldItem[];
}
interface FieldSheetBlock extends BlockHead {
  serial: number;
  form: FieldForm;
  groups: FieldGroup[];
  problems: { field: string; sentence: string }[];
  problems_title: string;
  labels: Words & { most_rows: number };
  judged?: boolean; // the answer to what is typed stands below
  working?: boolean;
}
interface SuspectsBlock extends BlockHead {
  title: string;
  quiet?: boolean;
  labels: Words;
  items: { name: string; chance: string; share: number; what: string; for: string[]; against: string[] }[];
}
interface DeskOption extends Named {
  group?: string;
}
interface DeskField {
  id: string;
  kind: string;
  label: string;
  value: string;
  unit?: string;
  beside?: string;
  hint?: string;
  wide?: boolean;
  every?: string;
  all_label?: string;
  options?: DeskOption[];
  problem?: { sentence: string; nearest: string; take: string };
  /** Name of the small picture of what to measure. */
  drawing?: string;
}
interface DeskReadings {
  columns: string[];
  units: string[];
  rows: { key: string; cells: { id: string; value: string }[]; problem: string }[];
}
interface DeskGroup {
  id: string;
  title: string;
  hint?: string;
  folded?: boolean;
  fields: DeskField[];
  button?: { label: string; action: string; args: any };
  readings?: DeskReadings;
}
/** The call builder: fields, files, and the rig to press parts of. */
interface DeskBlock extends BlockHead {
  serial: number;
  heard: number;
  groups: DeskGroup[];
  problems: string;
  undo: boolean;
  redo: boolean;
  adding: {
    label: string;
    choose: string;
    keys: string;
    options: DeskOption[];
    none?: string;
    full?: string;
    set?: string;
  } | null;
  files: {
    own: Named[];
    book: Named[];
    own_label: string;
    book_label: string;
    name: string;
    state: string;
    over: boolean;
    /** Name and save stand beside the fields instead. */
    save_beside?: boolean;
    /** There is one file only: no list to choose from and no name to give. */
    one?: boolean;
  };
  picture: Rig | null;
  units: UnitSystem;
  labels: Words;
}
/** The name of what is on a desk, and the press that puts it to use. */
interface DeskUseBlock extends BlockHead {
  label: string;
  name: string;
  button: string;
  state: string;
  off: boolean;
}
interface DeskTextBlock extends BlockHead {
  serial: number;
  text: string;
  label: string;
  button: string;
  problem: string;
}
interface DeskKeysBlock extends BlockHead {
  title: string;
  columns: string[];
  rows: string[][];
}
interface RowButton {
  label: string;
  /** What it says to ears, where the label alone does not name the row. */
  says: string;
  action: string;
  args: Record<string, unknown>;
  off?: boolean;
  /** What the address of this page ends in where somebody comes to press this at once. */
  hash?: string;
  /** Of another page: it is a way there, to press the same there. */
  file?: string;
}
/** A table whose rows can be acted on. */
interface RowsBlock extends BlockHead {
  title: string;
  columns: string[];
  rows: {
    key: string;
    cells: (string | { text: string; tone: string })[];
    /** Stands small under the first cell. */
    under?: string;
    buttons: RowButton[];
    /** Pages of their own, to be printed. */
    papers?: { label: string; says: string; html: string }[];
    now?: boolean;
  }[];
  none: string;
  /** The act by which a row is dragged to another place: its number and where it goes, both from 0. */
  moves?: string;
  foot?: string;
  /** Brings more rows. */
  more?: { label: string; action: string; args: Record<string, unknown> } | null;
}
/** Choices in one row, each from a list. */
interface FiltersBlock extends BlockHead {
  action: string;
  items: { id: string; label: string; value: string; options: Named[] }[];
}
/** A small file of text that is handed to the kernel whole. */
interface TakeFileBlock extends BlockHead {
  label: string;
  hint: string;
  action: string;
  accept: string;
  too_large: string;
}
interface FormField {
  id: string;
  label: string;
  value: string;
  options?: LessonOption[];
  long?: boolean;
  hint?: string;
  most?: string;
}
/** Fields that are sent together, or ("live") each as it is changed. */
interface FormBlock extends BlockHead {
  title?: string;
  fields: FormField[];
  action: string;
  args?: object;
  button?: string;
  live?: boolean;
  quiet?: boolean;
}
interface FilesBlock extends BlockHead {
  files: { name: string; label: string; type: string; text: string }[];
}
interface PrintoutBlock extends BlockHead {
  html: string;
  label: string;
  primary?: boolean;
}
/** Every kind of block a lesson may hold, by the name the kernel gives it. */
interface ClassWallBlock extends BlockHead {
  labels: { open: string; said: string; blocked: string };
  kit: { channel: string; document: string; words: object };
  shown: number;
  page: WallPage;
  samples: SamplesMessage;
  rows: string;
}
interface BlockOf {
  title: TitleBlock;
  heading: HeadingBlock;
  prose: ProseBlock;
  list: ListBlock;
  safe: SafeBlock;
  folded: FoldedBlock;
  caution: CautionBlock;
  notice: NoticeBlock;
  name: NameBlock;
  choices: ChoicesBlock;
  lessons: ContentsBlock;
  go: LinksBlock;
  buttons: ButtonsBlock;
  question: QuestionBlock;
  steps: StepsBlock;
  pages: PagesBlock;
  dials: DialsBlock;
  expert: ExpertBlock;
  carry: WorkFileBlock;
  chart: ChartBlock;
  class_wall: ClassWallBlock;
  compare: CompareBlock;
  desk: DeskBlock;
  desk_keys: DeskKeysBlock;
  desk_text: DeskTextBlock;
  desk_use: DeskUseBlock;
  field: FieldSheetBlock;
  files: FilesBlock;
  form: FormBlock;
  gauge: GaugeBlock;
  ideas: IdeasBlock;
  picture: PictureBlock;
  planner: PlannerBlock;
  printout: PrintoutBlock;
  replay: ReplayBlock;
  rows: RowsBlock;
  filters: FiltersBlock;
  take_file: TakeFileBlock;
  suspects: SuspectsBlock;
  tour: TourBlock;
}
type Block = BlockOf[keyof BlockOf];
type BlockDrawers = {
  [Kind in keyof BlockOf]: (view: LessonView, block: BlockOf[Kind], section: BlockSection) => unknown;
};
interface GlossaryTerm {
  name: string;
  text: string;
  picture: string;
  forms: string[];
}
