/** From a case and wishes on the command line to the document of `predict`. */
import { type PredictionDocument, type PredictWish, predictCase } from '../engine/index.ts';
import { readText, relativeName } from '../io/index.ts';
import { bytes, parseQuantity } from '../quantity/index.ts';
import { readSetting, settingRoles, type TimingSettings } from '../readers/index.ts';
import { readInputs, usable } from './answering.ts';
import { Unusable } from './unusable.ts';

export interface PredictFlags {
  readonly with: readonly string[];
  readonly size?: string;
  readonly kind?: 'write' | 'read';
  /** `Max_Payload_Size=256`, one an item. */
  readonly set: readonly string[];
  readonly parts: readonly string[];
}

/** Predicts the case file `name`. Throws Unusable with every problem, InputError for files. */
export async function predictFile(name: string, flags: PredictFlags): Promise<PredictionDocument> {
  const wish: PredictWish = {
    ...(flags.size === undefined ? {} : { size: sizeOf(flags.size) }),
    ...(flags.kind === undefined ? {} : { kind: flags.kind }),
    settings: Object.assign({}, ...flags.set.map(settingOf)) as TimingSettings,
    parts: await Promise.all(
      flags.with.map((path) => readText(path, relativeName(path, process.cwd()))),
    ),
  };
  const inputs = await readInputs(name, flags.parts);
  const given = (wish.parts ?? []).map(({ file, text }) => [file, text] as const);
  const texts = new Map([...inputs.texts, ...given]);
  return usable(predictCase(inputs.source, inputs.library, wish), { ...inputs, texts });
}

function refuse(expected: string, got: string, next: string): never {
  const place = { file: 'command line', line: 1, column: 1 };
  throw new Unusable([{ code: 'usage', place, expected, got: got.slice(0, 60), next }]);
}

function sizeOf(text: string): number {
  const spaced = text.replace(/^([0-9.]+)([A-Za-z])/, '$1 $2');
  const parsed = parseQuantity(spaced, 'size');
  const whole = parsed.ok ? wholeBytes(parsed.quantity) : undefined;
  return whole ?? refuse('a size of whole bytes, up to 1 TiB', `'${text}'`, 'write --size 4KiB');
}

function wholeBytes(quantity: Parameters<typeof bytes>[0]): number | undefined {
  try {
    const count = bytes(quantity);
    return count >= 1 && count <= 2 ** 40 ? count : undefined;
  } catch {
    return undefined;
  }
}

function settingOf(text: string): TimingSettings {
  const at = text.indexOf('=');
  const name = text.slice(0, at).trim();
  const role = settingRoles.find((r) => r.toLowerCase() === name.toLowerCase());
  if (at < 1 || role === undefined || role === 'host') {
    const known = settingRoles.filter((r) => r !== 'host').join(', ');
    return refuse(
      `SETTING=VALUE with one of ${known}`,
      `'${text}'`,
      'write --set Max_Payload_Size=256',
    );
  }
  const reading = readSetting(role, text.slice(at + 1).trim());
  if (reading.ok) return reading.settings;
  const { expected, got, next } = reading.complaint;
  return refuse(expected, got, next);
}
