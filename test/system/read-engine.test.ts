/** Keys of ports, engines, hosts and switches: what they read to, and what they refuse. */
import { describe, expect, test } from 'vitest';
import { inUnit, toNumber } from '../../src/quantity/index.ts';
import { readPart } from '../../src/system/read/index.ts';
import { good, hostText, moduleText, places, switchText } from './read-files.ts';

const part = (text: string) => readPart({ file: 'p.yaml', text });
/** A module whose line 34 is `dma: {…}`. */
const engine = (keys: string) => part(moduleText.replace(/dma:\n( {2}.*\n)+/, `dma: {${keys}}\n`));
/** A host with `keys` in line 12, within its port. */
const port = (keys: string) => part(`${hostText}  ${keys}\n`);
const host = (line: string) => part(`${hostText}${line}\n`);

describe('a DMA engine', () => {
  const path = 'width: 16 B, clock: 125..250 MHz';
  const ring = 'size: 32 B, covers: 4 KiB';

  test('reads its paths, buffer, intervals and descriptors', () => {
    const value = good(
      engine(
        'completion_buffer: 4..8 KiB, transfer_interval: 5 us, interrupt_interval: 50 us, ' +
          `channels: 4, write_path: {${path}, steps_per_transfer: 12}, read_path: {${path}}, ` +
          `descriptors: {${ring}, fetch_batch: 4..16, write_back: 8 B, write_back_batch: 2, ` +
          'gap: 100 ns, prefetched: true}',
      ),
    );
    const dma = value.kind === 'module' ? value.dma : undefined;
    expect(dma).toMatchObject({
      completion_buffer: { value: { text: '4..8 KiB' } },
      transfer_interval: { value: { text: '5 us' } },
      interrupt_interval: { value: { text: '50 us' } },
      channels: { value: 4, basis: 'datasheet' },
      write_path: { width: { value: { text: '16 B' } }, steps_per_transfer: {} },
      descriptors: { prefetched: { value: true }, write_back_batch: {}, gap: {} },
    });
    const { low, high } = inUnit(dma!.read_path!.clock.value, 'MHz');
    expect([toNumber(low), toNumber(high)]).toEqual([125, 250]);
    expect(dma!.read_path).not.toHaveProperty('steps_per_transfer');
  });

  test.each([
    ['chunk: 1..2 KiB', ['not-exact p.yaml:34:14']],
    ['completion_buffer: 0 B', ['out-of-range p.yaml:34:26']],
    ['channels: 0', ['out-of-range p.yaml:34:17']],
    ['channels: 1..2', ['bad-number p.yaml:34:17']],
    ['write_path: {width: 16 B}', ['missing-key p.yaml:34:19']],
    ['write_path: {width: 8..16 B, clock: 1 MHz}', ['not-exact p.yaml:34:27']],
    ['write_path: {width: 16 B, clock: 0 Hz}', ['out-of-range p.yaml:34:40']],
    ['write_path: {width: 16 B, clock: 8 ns}', ['bad-quantity p.yaml:34:42']],
    ['descriptors: {size: 32 B}', ['missing-key p.yaml:34:20']],
    [`descriptors: {${ring}, prefetched: yes}`, ['not-allowed p.yaml:34:60']],
    [`descriptors: {${ring}, fetch_batch: 0}`, ['out-of-range p.yaml:34:61']],
    [`descriptors: {${ring}, write_back_batch: 4}`, ['contradiction p.yaml:34:66']],
    [`descriptors: {${ring}, write_back: 8 B, write_back_batch: 4}`, []],
    ['request_size: 512 B, completion_buffer: 256 B', ['contradiction p.yaml:34:21']],
    ['request_size: 512 B, completion_buffer: 256..768 B', []],
    ['request_size: 512 B, completion_buffer: 512 B', []],
    ['interrupt_interval: 1 us, transfers_per_interrupt: 0', ['contradiction p.yaml:34:27']],
    ['interrupt_interval: 1 us, transfers_per_interrupt: 0..1', []],
    ['descriptor: {}', ['unknown-key p.yaml:34:7']],
  ])('%s: %j', (keys, expected) => {
    expect(places(engine(keys))).toEqual(expected);
  });
});

describe('a PCI Express port', () => {
  test('reads tags, exits, scaled flow control and further virtual channels', () => {
    const value = good(
      port(
        'tags: 768\n  scaled_flow_control: true\n  L0s_exit: 2..4 us\n  L1_exit: 16 us\n' +
          '  virtual_channels: {1: {posted_header_credits: 8}, 7: {posted_data_credits: 32}}',
      ),
    );
    expect(value).toMatchObject({
      pcie: {
        tags: { value: 768 },
        scaled_flow_control: { value: true },
        L0s_exit: { value: { text: '2..4 us' } },
        L1_exit: { value: { text: '16 us' } },
        virtual_channels: {
          1: { posted_header_credits: { value: { text: '8' } } },
          7: { posted_data_credits: { value: { text: '32' } } },
        },
      },
    });
  });

  // The columns of PCI Express Base Specification 6.3 tables 3-10 to 3-12 are x1, x2, x4, x8, x12,
  // x16 and x32.
  test.each(['x12', 'x32', '12'])('may be %s wide', (width) => {
    const value = good(part(hostText.replace('width: x8', `width: ${width}`)));
    expect(value).toMatchObject({ pcie: { width: { value: Number(width.replace('x', '')) } } });
  });

  test('may be of generation 6', () => {
    const value = good(part(hostText.replace('generation: 3', 'generation: 6')));
    expect(value).toMatchObject({ pcie: { generation: { value: 6 } } });
  });

  // Most: Base Specification 6.3 table 3-4, 127 headers and 2047 data credits without a scale, 16
  // times as many, 2032 and 32752, with the largest. Least: table 2-50, Max_Payload_Size / 16 B,
  // which is 16 for the 256 B of this port.
  const unscaled = 'scaled_flow_control: false\n  ';
  test.each([
    ['tags: 64', ['not-allowed p.yaml:12:9']],
    ['tags: 15360', []],
    ['posted_data_credits: 16', []],
    ['posted_data_credits: 15', ['contradiction p.yaml:12:24']],
    ['posted_data_credits: 15..64', ['contradiction p.yaml:12:24']],
    ['posted_data_credits: 32752', []],
    ['posted_data_credits: 32753', ['out-of-range p.yaml:12:24']],
    ['posted_header_credits: 2032', []],
    ['posted_header_credits: 2033', ['out-of-range p.yaml:12:26']],
    [`${unscaled}posted_header_credits: 127`, []],
    [`${unscaled}posted_header_credits: 128`, ['contradiction p.yaml:13:26']],
    [`${unscaled}nonposted_header_credits: 64..128`, ['contradiction p.yaml:13:29']],
    [`${unscaled}posted_data_credits: 2047`, []],
    [`${unscaled}posted_data_credits: 2048`, ['contradiction p.yaml:13:24']],
    ['posted_data_credits: 2048', []],
    ['virtual_channels: {0: {}}', ['unknown-key p.yaml:12:22']],
    ['virtual_channels: {8: {}}', ['unknown-key p.yaml:12:22']],
    ['virtual_channels: {1: {posted_data_credits: 8}}', ['contradiction p.yaml:12:47']],
    [
      `${unscaled}virtual_channels: {1: {posted_header_credits: 200}}`,
      ['contradiction p.yaml:13:49'],
    ],
    ['L0s_exit: 4', ['bad-quantity p.yaml:12:14']],
  ])('%s: %j', (keys, expected) => {
    expect(places(port(keys))).toEqual(expected);
  });
});

describe('a host and a switch', () => {
  test('a host reads its translation, processor and remote latency', () => {
    const value = good(
      host(
        'remote_latency: 80..140 ns\n' +
          'translation: {cached_pages: 64, page: 2 MiB, miss: 1 us, misses_at_once: 4}\n' +
          'processor: {uncached_size: 8 B, combined_size: 64 B, outstanding_loads: 1..4, ' +
          'store_interval: 5 ns}',
      ),
    );
    expect(value).toMatchObject({
      remote_latency: { value: { text: '80..140 ns' } },
      translation: { cached_pages: {}, page: { value: { text: '2 MiB' } }, misses_at_once: {} },
      processor: { combined_size: {}, outstanding_loads: { value: { text: '1..4' } } },
    });
  });

  test.each([
    ['translation: {page: 3 KiB}', ['out-of-range p.yaml:12:21']],
    ['translation: {page: 4..8 KiB}', ['not-exact p.yaml:12:21']],
    ['translation: {cached_pages: 0}', ['out-of-range p.yaml:12:29']],
    ['processor: {uncached_size: 12 B}', ['out-of-range p.yaml:12:28']],
    ['processor: {uncached_size: 4 bit}', ['out-of-range p.yaml:12:28']],
    ['processor: {uncached_size: 128 B, combined_size: 64 B}', ['contradiction p.yaml:12:28']],
    ['processor: {uncached_size: 64 B, combined_size: 64 B}', []],
    ['remote_latency: -1 ns', ['bad-quantity p.yaml:12:17']],
  ])('host %s: %j', (line, expected) => {
    expect(places(host(line))).toEqual(expected);
  });

  test('a switch says how it forwards, and whether it joins two domains', () => {
    const text = `${switchText}forwarding: cut-through\nnon_transparent: true\n`;
    expect(good(part(text))).toMatchObject({
      forwarding: { value: 'cut-through' },
      non_transparent: { value: true },
    });
    const wrong = part(`${switchText}forwarding: cut-trough\n`);
    expect(places(wrong)).toEqual(['not-allowed p.yaml:7:13']);
    expect(wrong.ok ? '' : wrong.problems[0]?.next).toBe("did you mean 'cut-through'?");
  });
});
