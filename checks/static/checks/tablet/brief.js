/** What the sheet says for one check: its unit, specification, instruments, and the numbers to compare with. */

/**
 * @typedef {Object} Brief
 * @property {Object} words    texts, steps and units
 * @property {Object} person   name and units
 * @property {Object} unit     the turbocharger and where it sits
 * @property {Object} spec     setting, window and the rest, in kPa or %, and mm
 * @property {boolean} electric
 * @property {'pneumatic'|'electric'} stimulus
 * @property {Object<string, Object|null>} tools  the instruments chosen, by role
 * @property {Object|null} marks  what these instruments show at all that matters
 * @property {boolean} known   false where the sheet has no limits for this set, so that `marks` are the bare specification
 */

const ROLES = ["dial", "stimulus", "meter", "regulator"];
const LENGTHS = ["mm", "in", "thou"];
const PRESSURES = ["kPa", "psi", "bar"];

/**
 * @returns {Brief|null} null where the unit is not on the sheet and was never kept with the check
 */
export function briefOf(draft, sheet) {
  const pinned = draft.ui.pinned ?? {};
  const unit = sheet.units.find((one) => one.turbocharger === draft.turbocharger) ?? pinned.unit;
  const spec = sheet.specifications[draft.specification] ?? pinned.spec;
  if (!unit || !spec) return null;
  // A sheet fetched in the middle of a check may know this unit no longer.
  if (!draft.ui.pinned) draft.ui.pinned = { unit, spec };
  const brief = { words: sheet.words, person: sheet.person, unit, spec, sheet };
  brief.electric = unit.electric;
  brief.stimulus = unit.electric ? "electric" : "pneumatic";
  brief.stimulusUnit = unit.electric ? "%" : sheet.person.pressure_unit;
  brief.lengthUnit = sheet.person.length_unit;
  brief.tools = toolsOf(draft, sheet, pinned);
  Object.assign(brief, brief.tools.stimulus ? scaleOf(brief) : {});
  const set = setFor(draft.instruments, draft.specification, sheet) ?? pinned.set ?? null;
  brief.set = set;
  brief.known = Boolean(set?.marks);
  brief.marks = brief.tools.stimulus ? upwards(set?.marks ?? bareMarks(brief)) : null;
  return brief;
}

export function setFor(chosen, specification, sheet) {
  return sheet.sets.find(
    (set) =>
      chosen &&
      set.specification === specification &&
      set.dial === chosen.dial &&
      set.stimulus === chosen.stimulus &&
      (set.meter ?? null) === (chosen.meter ?? null),
  );
}

/** Instruments and limits are kept with the check, whatever the sheet says later. */
export function pinTools(draft, brief) {
  draft.ui.pinned = { ...draft.ui.pinned, tools: brief.tools, set: brief.set };
}

function toolsOf(draft, sheet, pinned) {
  const find = (pk) => sheet.instruments.find((one) => one.pk === pk);
  return Object.fromEntries(
    ROLES.map((role) => {
      const pk = draft.instruments?.[role];
      return [role, (pk && (find(pk) ?? pinned.tools?.[role])) || null];
    }),
  );
}

/** In which units the stimulus and the travel may be typed, and which are offered first. */
function scaleOf({ tools, electric, person }) {
  const { dial, stimulus, meter } = tools;
  const units = electric ? ["%"] : meter ? [meter.electrical_unit] : PRESSURES;
  const first = (own, wanted, offered) => [own, wanted].find((unit) => offered.includes(unit)) ?? offered[0];
  return {
    stimulusUnits: units,
    stimulusFirst: first(stimulus.own_unit, person.pressure_unit, units),
    stimulusDivision: meter ? meter.division : stimulus.division,
    travelUnits: LENGTHS,
    travelFirst: first(dial?.own_unit, person.length_unit, LENGTHS),
    travelDivision: dial?.division ?? 0.01,
  };
}

/** Where no certificate was worked into numbers: the specification as it stands. */
function bareMarks({ spec, tools, words }) {
  const gain = tools.meter ? (tools.stimulus.sensitivity ?? 1) : 1;
  const at = (value) => value * gain;
  return {
    direction: gain > 0 ? 1 : -1,
    per_unit: 1 / gain,
    setting: at(spec.setting),
    low: at(spec.setting - spec.capture_tolerance),
    high: at(spec.setting + spec.capture_tolerance),
    slow_from: at(words.shares.slow * spec.setting),
    maximum: at(spec.stimulus_max),
    exercise_from: at(words.shares.exercise * spec.setting),
    fall_most: Math.abs(gain) * spec.capture_tolerance,
    zero_most: Infinity,
    travel_zero_most: Infinity,
    lapses: [],
    limits: {},
  };
}

/** Marks that count upwards, whichever way the instrument goes. */
function upwards(marks) {
  if (marks.direction > 0) return marks;
  const turned = Object.fromEntries(
    ["per_unit", "setting", "low", "high", "slow_from", "maximum", "exercise_from"].map((name) => [name, -marks[name]]),
  );
  return { ...marks, ...turned };
}
