/** Values that several files' keys share. */
import { given } from './leaf.ts';
import { flagRule, generationRule, quantityRule, widthRule } from './rules.ts';

/** Max_Payload_Size and Max_Read_Request_Size encodings of the Device Control register. */
const payloadSizes = ['128 B', '256 B', '512 B', '1024 B', '2048 B', '4096 B'] as const;
/** Read Completion Boundary: 64 B or 128 B for a root complex, 128 B for others. */
const completionBoundaries = ['64 B', '128 B'] as const;

/** A payload size as the standard's registers encode it. */
export const payloadSize = given(quantityRule('size', 'a payload size', { oneOf: payloadSizes }));
export const completionBoundary = given(
  quantityRule('size', 'a Read Completion Boundary', { oneOf: completionBoundaries }),
);
export const generation = given(generationRule);
export const width = given(widthRule);
export const flag = given(flagRule);

/** A time of 0 or more. */
export const pause = given(quantityRule('time', 'a time', { least: '0 s' }));
/** A whole number of 1 or more; a range is accepted. */
export const some = given(quantityRule('count', 'a number', { least: '1', whole: true }));
/** A whole number of 0 or more; a range is accepted. */
export const someOrNone = given(quantityRule('count', 'a number', { least: '0', whole: true }));
/** Whole bytes, one value: what is made of it moves in steps. */
export const oneSize = given(
  quantityRule('size', 'a size', { exact: true, whole: true, least: '1 B' }),
);
/** Whole bytes; a range is accepted. */
export const anySize = given(quantityRule('size', 'a size', { whole: true, least: '1 B' }));
/** Bytes of what a processor or a translation handles at once. */
export const powerSize = given(
  quantityRule('size', 'a size', { exact: true, whole: true, least: '1 B', power: true }),
);
export const dataRate = given(quantityRule('data rate', 'a data rate', { above: '0 B/s' }));
export const clockRate = given(quantityRule('frequency', 'a clock', { above: '0 Hz' }));
