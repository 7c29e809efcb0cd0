/** Values of a DMA engine that contradict each other, or that mean nothing alone. */
import { compare, zero } from '../../quantity/index.ts';
import type { DmaEngine } from '../dma.ts';
import type { Collector } from '../text/problems.ts';
import { placeText, quoted } from '../text/tree.ts';
import { atMost, expectBeside } from './check-order.ts';

export function checkDma(dma: DmaEngine, out: Collector): void {
  const { chunk, gap_per_chunk, completion_buffer, request_size, descriptors } = dma;
  if (gap_per_chunk && chunk === undefined) {
    const next = 'give the size of a chunk, or use gap_per_packet';
    expectBeside(['gap_per_chunk', gap_per_chunk], 'chunk', next, out);
  }
  // An engine without room for the completions of one request could never ask.
  if (request_size && completion_buffer) {
    atMost(['request_size', request_size], ['completion_buffer', completion_buffer], out);
  }
  if (descriptors?.write_back_batch && descriptors.write_back === undefined) {
    const next = 'give the bytes written back for each descriptor';
    expectBeside(['write_back_batch', descriptors.write_back_batch], 'write_back', next, out);
  }
  checkInterrupts(dma, out);
}

/** A least time between interrupts means nothing where there are none. */
function checkInterrupts(dma: DmaEngine, out: Collector): void {
  const { interrupt_interval: interval, transfers_per_interrupt: transfers } = dma;
  if (!interval || !transfers || compare(transfers.value.high, zero) > 0) return;
  out.report('contradiction', interval.place, {
    expected: `no interrupt_interval, with no interrupts at ${placeText(transfers.place)}`,
    got: quoted(interval.value.text),
    next: 'remove it, or say how many transfers an interrupt ends',
  });
}
