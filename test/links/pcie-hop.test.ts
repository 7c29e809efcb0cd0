import { describe, expect, it } from 'vitest';
import { type PcieConfig, pcie } from '../../src/links/pcie/index.ts';
import { type Dimension, quantity } from '../../src/quantity/index.ts';
import type { Settings } from '../../src/system/case.ts';
import type { Given, GivenQuantity } from '../../src/system/given.ts';
import type { HopRequest } from '../../src/system/hop.ts';
import { Parameters } from '../../src/system/parameters.ts';
import type { Generation, PcieFunction, Width } from '../../src/system/parts.ts';
import { pcieHop, refusedHop } from '../../src/system/pcie-hop.ts';
import { flow } from './pcie-link.ts';

const place = { file: 'a.yaml', line: 1, column: 1 };

function given<T>(value: T): Given<T> {
  return { value, basis: 'datasheet', reference: 'a test', place, from: 'part' };
}

const amount = (text: string, dimension: Dimension): GivenQuantity =>
  given(quantity(text, dimension));
const count = (text: string) => amount(text, 'count');

function port(
  generation: Generation,
  width: Width,
  more: Partial<PcieFunction> = {},
): PcieFunction {
  return {
    generation: given(generation),
    width: given(width),
    role: given('endpoint'),
    Max_Payload_Size: amount('256 B', 'size'),
    ...more,
  };
}

function hopOf(
  lower: PcieFunction,
  upper: PcieFunction,
  settings: Settings = {},
  more: Partial<HopRequest> = {},
) {
  const parameters = new Parameters();
  const request: HopRequest = {
    lower: { owner: 'board', pcie: lower },
    upper: { owner: 'host', pcie: upper },
    completer: { owner: 'host', pcie: upper },
    settings,
    maxPayload: 256,
    change: {},
    parameters,
    ...more,
  };
  const hop = pcieHop(request);
  const config = (end: 'low' | 'high' | 'expected') =>
    hop.configure(
      end === 'expected' ? parameters.expected() : parameters.corner(end),
    ) as PcieConfig;
  const ids = parameters.entries.map((e) => e.id);
  return { hop, parameters, config, ids };
}

describe('what a case and its parts say of a link', () => {
  // PCI Express Base Specification 6.3 table 3-4: 127 headers and 2047 data units without scale, 2032
  // and 32 752 with the largest; §3.4.2: mandatory for ports that know 16 GT/s.
  it('caps credits unless both ends take part in scaled flow control', () => {
    const large = {
      posted_header_credits: count('1000'),
      posted_data_credits: count('9000'),
      nonposted_header_credits: count('500'),
    };
    const grants = (lower: PcieFunction, upper: PcieFunction) => {
      const { postedHeaders, postedData, nonpostedHeaders } = hopOf(lower, upper).config(
        'low',
      ).rootSide;
      return [postedHeaders, postedData, nonpostedHeaders];
    };
    expect(grants(port(3, 8), port(3, 8, large))).toEqual([127, 2047, 127]);
    expect(grants(port(3, 8), port(4, 8, large))).toEqual([127, 2047, 127]);
    expect(grants(port(4, 8), port(5, 8, large))).toEqual([1000, 9000, 500]);
    const off = { ...large, scaled_flow_control: given(false) };
    expect(grants(port(4, 8), port(5, 8, off))).toEqual([127, 2047, 127]);
    const on = { scaled_flow_control: given(true) };
    expect(grants(port(3, 8, on), port(3, 8, { ...large, ...on }))).toEqual([1000, 9000, 500]);
    const { rootSide } = hopOf(port(4, 8), port(4, 8)).config('high');
    expect([rootSide.postedHeaders, rootSide.postedData]).toEqual([2032, 32_752]);
  });

  it('takes the reference clock, and no wider spacing than it allows', () => {
    const settings = { reference_clock: given('separate with spread spectrum' as const) };
    const { config } = hopOf(port(3, 8), port(3, 8), settings);
    expect(config('expected')).toMatchObject({
      skpInterval: 37,
      clocking: settings.reference_clock.value,
    });
    const wide = port(3, 8, { skp_interval: count('370..375') });
    expect(hopOf(wide, port(3, 8), settings).config('high').skpInterval).toBe(37);
    expect(hopOf(wide, port(3, 8)).config('high').skpInterval).toBe(375);
    // In flits the table of the standard is all there is.
    const flits = hopOf(port(6, 4, { skp_interval: count('370') }), port(6, 4));
    expect(flits.config('low').skpInterval).toBe(187);
  });

  it('knows bit errors only where the case gives a ratio', () => {
    const quiet = hopOf(port(3, 8), port(3, 8));
    expect(quiet.ids.filter((id) => /bit_error|replay/.test(id))).toEqual([]);
    expect(pcie.losses(quiet.config('low'))).toEqual([]);
    const settings = { bit_error_ratio: amount('1e-12', 'fraction') };
    const noisy = hopOf(port(3, 8), port(3, 8), settings);
    expect(noisy.config('low').errorsPerExabit).toBe(1_000_000);
    const cost = (end: 'low' | 'expected' | 'high') => noisy.config(end).replayTicks! / (65 * 8);
    // 203 symbol times of Ack latency limit at x8, 256 B (table 3-12), two packets of 36, the Nak; six
    // limits twice at the worst; at the least the packet, the internal delay of 115 and the Nak.
    expect(cost('expected')).toBeCloseTo(36 + 203 + 1 + 36, 2);
    expect(cost('low')).toBeCloseTo(36 + 12 * 203, 2);
    expect(cost('high')).toBeCloseTo(36 + 115 + 1, 2);
  });

  it('waits for the longest replay timer that either port or Extended Synch allows', () => {
    const settings = { bit_error_ratio: amount('1e-12', 'fraction') };
    const worst = (upper: PcieFunction, more: Settings = {}) =>
      hopOf(port(3, 8), upper, { ...settings, ...more }).config('low').replayTicks! / (65 * 8);
    expect(worst(port(4, 8))).toBeCloseTo(36 + 62_000, 1);
    const synch = { Extended_Synch: given(true) };
    expect(worst(port(4, 8), synch)).toBeCloseTo(36 + 100_000 + 2047 * 36, 1);
  });

  it('gives each virtual channel credits of its own', () => {
    const upper = port(3, 8, {
      posted_header_credits: count('64'),
      virtual_channels: { 2: { posted_header_credits: count('9') } },
    });
    const { config, ids } = hopOf(port(3, 8), upper, {}, { channels: [0, 5] });
    const { rootSide } = config('expected');
    expect(rootSide.postedHeaders).toBe(64);
    expect(rootSide.channels?.[2]?.postedHeaders).toBe(9);
    expect(rootSide.channels?.[5]?.postedHeaders).toBe(12 * 8);
    expect(ids).toContain('host virtual channel 2.posted_header_credits');
    const [headers] = pcie.limits(flow({ virtualChannel: 2 }), config('expected'), false);
    expect(headers!.window).toBe(9);
    const reading = flow({ kind: 'read', virtualChannel: 2 });
    expect(pcie.limits(reading, config('expected'), false)).toHaveLength(1);
  });

  it('grants finite completion credits at a switch and none of them at an endpoint', () => {
    const ends = [port(3, 8), port(3, 8)] as const;
    expect(hopOf(...ends).config('low').moduleSide.completionHeaders).toBeUndefined();
    const lower = { owner: 'switch', pcie: port(3, 8), forwards: true };
    const { config } = hopOf(...ends, {}, { lower });
    expect(config('low').moduleSide).toMatchObject({ completionHeaders: 32, completionData: 160 });
    expect(config('low').rootSide.completionHeaders).toBeUndefined();
  });

  it('counts the credits of the lower end where requests come down', () => {
    const lower = port(3, 8, { posted_header_credits: count('20') });
    const upper = port(3, 8, { posted_header_credits: count('40') });
    const { config } = hopOf(lower, upper, {}, { bothWays: true });
    const window = (flipped: boolean) => pcie.limits(flow(), config('low'), flipped)[0]!.window;
    expect([window(false), window(true)]).toEqual([40, 20]);
  });

  it('asks nothing of Acks and updates in flits', () => {
    const acks = (generation: Generation) =>
      hopOf(port(generation, 8), port(generation, 8)).ids.filter((id) => /packets_per/.test(id));
    expect(acks(6)).toEqual([]);
    expect(acks(3)).toHaveLength(3);
    const { hop, config } = hopOf(port(6, 8), port(6, 8));
    expect(pcie.describe(config('expected'))).toBe('64 GT/s x8');
    expect(hop.tick).toEqual(pcie.tick(config('expected')));
  });

  // Link Capabilities know no x12 and x32 any more (Base Specification 6.3 table 7-23).
  it('refuses a port of twelve or thirty-two lanes, and narrows twelve wired ones', () => {
    const request = (width: Width, wired?: number): HopRequest => ({
      lower: { owner: 'board', pcie: port(3, width) },
      upper: { owner: 'host', pcie: port(3, width) },
      completer: { owner: 'host', pcie: undefined },
      ...(wired === undefined ? {} : { wired }),
      settings: {},
      maxPayload: 256,
      change: {},
      parameters: new Parameters(),
    });
    expect(refusedHop(request(12))).toMatch(
      /^board to host: a link of 8 GT\/s x12 cannot be rated/,
    );
    expect(() => pcieHop(request(32))).toThrow(/x32 cannot be rated/);
    expect(refusedHop(request(16, 12))).toBeUndefined();
    expect(pcie.describe(pcieHop(request(16, 12)).configure([]) as PcieConfig)).toBe('8 GT/s x8');
  });
});
