import { describe, expect, it } from 'vitest';
import { pcie } from '../../src/links/pcie/index.ts';
import { flow, link, many, receiver } from './pcie-link.ts';

const back = 5000;

describe('credits by virtual channel', () => {
  const channels = { 3: { postedHeaders: 5, postedData: 64, nonpostedHeaders: 2 } };
  const rootSide = { ...receiver, postedHeaders: 100, creditReturnTicks: back, channels };
  const config = link({ rootSide });

  it('come from the channel of the flow', () => {
    const [headers, data] = pcie.limits(flow({ virtualChannel: 3 }), config, false);
    expect(headers).toMatchObject({ window: 5, id: 'posted_headers_vc3' });
    expect(headers!.cause).toBe('all 5 posted header credits on virtual channel 3 are out');
    expect(data).toMatchObject({ window: 64, id: 'posted_data_vc3' });
    const [plain] = pcie.limits(flow(), config, false);
    expect(plain).toMatchObject({ window: 100, id: 'posted_headers' });
    const [asked] = pcie.limits(flow({ kind: 'read', virtualChannel: 3 }), config, false);
    expect(asked).toMatchObject({ window: 2, account: 'credit_stall', direction: 'up' });
  });

  it('are refused on a channel that the receiver does not have', () => {
    expect(() => pcie.limits(flow({ virtualChannel: 2 }), config, false)).toThrow(
      /virtual channel 2: the receiver grants no credits/,
    );
  });
});

describe('credits for completions', () => {
  // PCI Express Base Specification 6.3 table 2-50: infinite at endpoints, else at least 1 header and
  // Max_Payload_Size / 16 of data; the worked example is 040h for 1024 B.
  const least = { completionHeaders: 1, completionData: 0x40 };
  const side = { ...receiver, ...least, creditReturnTicks: back, packetsPerUpdate: 2 };
  const reads = flow({ kind: 'read', transferBytes: 8192, requestBytes: 1024 });

  it('hold one completion of full payload at the least that a switch may grant', () => {
    const config = link({ maxPayload: 1024, moduleSide: side });
    const limits = pcie.limits(reads, config, false);
    // Eight completions of 1044 B at 10 ticks a byte, one after another with the credit's return.
    const all = 8 * (1044 * 10 + back);
    expect(limits.map((l) => [l.id, l.direction, l.ticks / l.window])).toEqual([
      ['completion_headers', 'down', all],
      ['completion_data', 'down', all],
    ]);
    const short = { ...side, completionData: 0x3f };
    expect(() => pcie.limits(reads, link({ maxPayload: 1024, moduleSide: short }), false)).toThrow(
      /63 completion data credits cannot hold one packet of 64 units/,
    );
  });

  it('do not count at an endpoint', () => {
    expect(pcie.limits(reads, link({ maxPayload: 1024 }), false)).toEqual([]);
  });

  it('are renewed by updates that travel with the requests', () => {
    const ticks = (moduleSide: typeof receiver) =>
      pcie.demand(reads, link({ maxPayload: 1024, moduleSide })).wire.up;
    const endpoint = { ...receiver, packetsPerUpdate: 2 };
    // Eight completions, an update of 8 B for every two.
    expect(ticks(side) - ticks(endpoint)).toBe(4 * 8 * 10);
    // Three completions a transfer and an update for two of them: whole after two transfers.
    const three = flow({ kind: 'read', transferBytes: 3072, requestBytes: 4096 });
    expect(pcie.demand(three, link({ maxPayload: 1024, moduleSide: side })).transfers).toBe(2);
  });

  it('are infinite in the cheapest choice', () => {
    const config = pcie.cheapest(link({ maxPayload: 1024, moduleSide: side }), reads);
    expect(pcie.limits(reads, config, false)).toEqual([]);
  });

  it('are those of the upper end for a requester there', () => {
    const rootSide = { ...receiver, completionHeaders: 7, completionData: many };
    const config = link({ rootSide, moduleSide: { ...receiver, nonpostedHeaders: 3 } });
    const limits = pcie.limits(flow({ kind: 'read' }), config, true);
    expect(limits.map((l) => [l.id, l.window])).toEqual([
      ['nonposted_headers', 3],
      ['completion_headers', 7],
    ]);
    const posted = { ...receiver, postedHeaders: 9 };
    const [write] = pcie.limits(flow(), link({ moduleSide: posted }), true);
    expect(write).toMatchObject({ id: 'posted_headers', window: 9 });
  });
});
