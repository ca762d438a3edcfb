/** A check is begun: its key is made here, once, and with it the server will know a repeat. */

/** Begin the check of a unit and open its first step. */
export async function begin(app, unit, sheet) {
  const draft = newDraft(unit, sheet, app.release.version);
  await app.store.saveDraft(draft);
  // Asked once there is something to lose; the answer is shown with what waits.
  navigator.storage?.persist?.().catch(() => undefined);
  app.go(`#/check/${draft.key}`);
}

/** A draft is a submission, with `ui` for the screens and `kept` for the store. */
export function newDraft(unit, sheet, release) {
  return {
    key: crypto.randomUUID(),
    turbocharger: unit.turbocharger,
    specification: unit.specification,
    reason: null,
    complaint: null,
    made_at: null,
    odometer: null,
    engine_hours: null,
    instruments: null,
    alignment: null,
    cautions_read_at: null,
    as_found: { readings: [] },
    half_turns: null,
    as_left: null,
    note: "",
    source: "tablet",
    ui: { step: "", decision: null, passed: [] },
    kept: {
      person: sheet.person.pk,
      person_name: sheet.person.name,
      release,
      rev: 0,
      begun_at: new Date().toISOString(),
      touched_at: "",
      sheet_made_at: sheet.made_at,
      unit: { number: unit.number, position: unit.position, serial: unit.serial, model: unit.model },
    },
    refusal: null,
  };
}
