/** The part files that hold a calibration: the module's, and the host's where it has a share in it. */
import {
  type Calibration,
  type CalibrationKey,
  parameterOf,
  writtenKnowledge,
  writtenValues,
} from '../insight/calibrate/index.ts';
import type { CalibrationDocument } from '../model/calibration.ts';
import { identityKeys } from '../system/calibration.ts';
import type { Case } from '../system/case.ts';
import type { HostPart, ModulePart } from '../system/parts.ts';
import type { Library } from '../system/read/index.ts';
import { measuredPartText, type WrittenTree } from '../system/text/measured-part.ts';
import type { CalibrateWish } from './calibrate-wish.ts';

/** Texts of part files; the host's only where one of its values was fitted. */
export interface SavedParts {
  readonly module: string;
  readonly host?: string;
}

interface Saving extends CalibrateWish {
  readonly evidence: readonly { readonly file: string; readonly sha256: string }[];
}

export function savedParts(
  c: Case,
  library: Library,
  calibration: Calibration,
  document: CalibrationDocument,
  saving: Saving,
): SavedParts {
  const hasHost = calibration.explanations[0]!.keys.some(
    (key: CalibrationKey) => parameterOf(key).part === 'host',
  );
  const of = (part: 'module' | 'host', whose: ModulePart | HostPart, id?: string) =>
    textOf(part, whose, library, calibration, document, saving, id);
  return {
    module: of('module', c.module, saving.id),
    ...(hasHost && c.host ? { host: of('host', c.host) } : {}),
  };
}

function textOf(
  part: 'module' | 'host',
  whose: ModulePart | HostPart,
  library: Library,
  calibration: Calibration,
  document: CalibrationDocument,
  saving: Saving,
  id: string | undefined,
): string {
  const source = library.find(whose.id);
  if (!source) throw new Error(`expected the part ${whose.id} in the library`);
  const reference = `calibration of ${saving.date}, ${saving.evidence.map((e) => e.file).join(', ')}`;
  const chosen = Object.entries(whose.options).map(([name, option]) => [name, option.chosen]);
  return measuredPartText({
    text: source.text,
    ...(id === undefined ? {} : { id }),
    chosen: Object.fromEntries(chosen),
    values: writtenValues(calibration, part, { reference }),
    calibration: blockOf(calibration, document, saving),
  });
}

function blockOf(
  calibration: Calibration,
  document: CalibrationDocument,
  { date, evidence, identity = {} }: Saving,
): WrittenTree {
  const links = [...new Set(document.kinds.flatMap((k) => k.links))];
  const { host } = calibration.case;
  const known = identityKeys.flatMap((key) => (identity[key] ? [[key, identity[key]]] : []));
  return {
    date,
    explanation: calibration.explanations[0]!.name,
    conditions: `${host ? `host ${host.id}` : 'a host that is not named'}; ${links.join('; ')}`,
    evidence,
    ...writtenKnowledge(calibration),
    identity: { ...Object.fromEntries(known), adapter: identity.adapter ?? 'not stated' },
  };
}
