/** Values of a PCI Express port that contradict each other. */
import { compare, mul, rational, toDecimal } from '../../quantity/index.ts';
import type { GivenQuantity } from '../given.ts';
import type { ChannelCredits, PcieFunction } from '../parts.ts';
import type { Collector } from '../text/problems.ts';
import { placeText, quoted } from '../text/tree.ts';
import { atMost } from './check-order.ts';

/** Bits that one data credit stands for: 4 DW (Base Specification 6.3 §2.6.1, table 2-49). */
const BITS_PER_CREDIT = rational(128);
/**
 * Most credits outstanding without a scale: one less than half the range of the 8-bit header and
 * 12-bit data fields (Base Specification 6.3 §3.4.2, table 3-4).
 */
const HEADERS_UNSCALED = 127;
const DATA_UNSCALED = 2047;

/** Read_Completion_Boundary ≤ completion_payload ≤ Max_Payload_Size; credits in their limits. */
export function checkPcie(pcie: PcieFunction, out: Collector): void {
  const { completion_payload: payload, Max_Payload_Size: largest } = pcie;
  if (payload !== undefined) {
    atMost(['completion_payload', payload], ['Max_Payload_Size', largest], out);
    const boundary = pcie.Read_Completion_Boundary;
    if (boundary) {
      atMost(['Read_Completion_Boundary', boundary], ['completion_payload', payload], out);
    }
  }
  for (const credits of [pcie, ...Object.values(pcie.virtual_channels ?? {})]) {
    checkRoom(credits, largest, out);
    if (pcie.scaled_flow_control?.value === false) checkUnscaled(credits, pcie, out);
  }
}

/** A receiver has room for the largest packet it takes (Base Specification 6.3, table 2-50). */
function checkRoom(credits: ChannelCredits, largest: GivenQuantity, out: Collector): void {
  const data = credits.posted_data_credits;
  if (data === undefined) return;
  const payload = largest.value.expected;
  if (compare(mul(data.value.low, BITS_PER_CREDIT), payload) >= 0) return;
  const need = toDecimal(mul(payload, rational(1n, BITS_PER_CREDIT.n)), 6);
  const size = `${quoted(largest.value.text)} at ${placeText(largest.place)}`;
  out.report('contradiction', data.place, {
    expected: `posted_data_credits of at least ${need}, for Max_Payload_Size ${size}`,
    got: quoted(data.value.text),
    next: 'correct one of the two; a credit is 16 B',
  });
}

function checkUnscaled(credits: ChannelCredits, pcie: PcieFunction, out: Collector): void {
  const place = placeText(pcie.scaled_flow_control!.place);
  for (const [key, most] of [
    ['posted_header_credits', HEADERS_UNSCALED],
    ['posted_data_credits', DATA_UNSCALED],
    ['nonposted_header_credits', HEADERS_UNSCALED],
  ] as const) {
    const given = credits[key];
    if (given === undefined || compare(given.value.high, rational(most)) <= 0) continue;
    out.report('contradiction', given.place, {
      expected: `${key} of at most ${most}, with scaled_flow_control: false at ${place}`,
      got: quoted(given.value.text),
      next: 'correct one of the two; leave out what is infinite',
    });
  }
}
