/** The keys that say what a part's measured values were measured on, and how. */
import {
  type AlternativeValues,
  adapters,
  type CalibratedKind,
  type Identity,
  type PartCalibration,
} from '../calibration.ts';
import { dma } from './dma.ts';
import { given, plain, type Rule, textRule } from './leaf.ts';
import { choiceRule, quantityRule, wholeRule } from './rules.ts';
import { fallback, list, object, optional, required, type Shape } from './shape.ts';

/** Most evidence files, settings and alternatives of a calibration. */
const ITEMS_MAX = 16;
const POINTS_MAX = 1_000_000;

const text = (noun: string) => plain(textRule(noun));

function patternRule(noun: string, pattern: RegExp, example: string): Rule<string> {
  return {
    noun,
    understand: (written) =>
      pattern.test(written)
        ? { ok: true, value: written }
        : {
            ok: false,
            code: 'not-allowed',
            expected: noun,
            got: JSON.stringify(written.slice(0, 80)),
            next: `write it as ${example}`,
          },
    json: { type: 'string', pattern: pattern.source },
  };
}

const date = plain(
  patternRule('a date', /^\d{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12]\d|3[01])$/, '2026-11-25'),
);
const hash = plain(patternRule('a SHA-256 of 64 hexadecimal digits', /^[0-9a-f]{64}$/, '0f3a…'));

const evidence = object<{ readonly file: string; readonly sha256: string }>({
  file: required(text('a file name'), 'Name of the evidence file.'),
  sha256: required(hash, 'SHA-256 of its bytes.'),
});

const kind: Shape<CalibratedKind> = object<CalibratedKind>({
  points: required(given(wholeRule('a number of points', 1, POINTS_MAX)), 'Transfers measured.'),
  scatter: required(
    given(quantityRule('fraction', 'a scatter', { exact: true, above: '0 %' })),
    'Relative standard deviation of what the fitted model did not see.',
  ),
  degrees: required(
    given(wholeRule('degrees of freedom', 1, POINTS_MAX)),
    'Degrees of freedom of the scatter.',
  ),
  sizes: required(
    given(quantityRule('size', 'sizes of transfers', { whole: true, least: '1 B' })),
    'Smallest to largest transfer measured.',
  ),
  settings: fallback(list(text('settings'), ITEMS_MAX), () => [], 'Settings stated with them.'),
});

const identity: Shape<Identity> = object<Identity>({
  board_revision: optional(text('a board revision'), 'Revision of the board.'),
  serial: optional(text('a serial number'), 'Serial number of the board.'),
  fpga_build: optional(text('an FPGA build'), 'Build of its FPGA.'),
  driver: optional(text('a driver version'), 'Driver and its version.'),
  firmware: optional(text('a firmware version'), 'Firmware of board or host.'),
  temperature: optional(text('a temperature'), 'Temperature while it was measured.'),
  adapter: fallback(
    given(choiceRule(adapters, 'where it sat')),
    (place, origin) => ({ value: 'not stated', basis: 'assumed', place, from: origin.layer }),
    'Where the board sat: in a desktop adapter, or on its carrier.',
  ),
});

const alternative: Shape<AlternativeValues> = object<AlternativeValues>({
  explanation: required(text('an explanation'), 'What it explains the times by.'),
  dma: optional(dma, 'Its values of the engine.'),
});

/** How and on what measured values were measured. */
export const calibration: Shape<PartCalibration> = object<PartCalibration>({
  date: required(date, 'Day of the measurement, as 2026-11-25.'),
  explanation: required(text('an explanation'), 'What the times are explained by.'),
  conditions: required(text('conditions'), 'The system that was measured.'),
  evidence: required(list(evidence, ITEMS_MAX), 'The measurements.'),
  writes: optional(kind, 'How transfers that the module writes were measured.'),
  reads: optional(kind, 'How transfers that it reads were measured.'),
  identity: required(identity, 'What was measured; leave out what nobody stated.'),
  alternatives: fallback(
    list(alternative, ITEMS_MAX),
    () => [],
    'Other explanations that the measurements do not decide against.',
  ),
});
