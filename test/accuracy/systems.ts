/** The published systems, one folder each in `examples/measured/`, and what is known of their inputs. */

export interface System {
  readonly folder: string;
  readonly title: string;
  /** `A`: all that the model needs of the link, the sizes and the concurrency; `B`: something not. */
  readonly grade: { readonly write?: 'A' | 'B'; readonly read?: 'A' | 'B' };
  /** What the source states and what it does not. */
  readonly inputs: string;
}

export const systems: readonly System[] = [
  {
    folder: 'fpga-kit',
    title: 'FPGA kit',
    grade: { write: 'A', read: 'B' },
    inputs:
      'Stated: generation, width, Max_Payload_Size 128 B, transfers of 64 KB (taken as 64 KiB), ' +
      '8 or 4 reads outstanding. Not stated: the size of a read request, the host, its buffers. ' +
      'MB/s is taken as 10^6 B/s.',
  },
  {
    folder: 'server-nic',
    title: 'Network card in three servers',
    grade: { write: 'A', read: 'B' },
    inputs:
      'Stated: 8 GT/s x8, Max_Payload_Size 256 B, Max_Read_Request_Size 512 B, Read Completion ' +
      'Boundary 64 B, at most 32 tags, the size of a DMA. Not stated: how many DMAs are in flight, ' +
      'where the buffers lie. Taken: no set-up and no interrupt goes with a DMA, since they overlap ' +
      'and no driver takes part. The writes of the three hosts agree within 0.2 %: count them once.',
  },
  {
    folder: 'server-x8',
    title: 'Two servers with 2.5 GT/s slots',
    grade: { write: 'B', read: 'B' },
    inputs:
      'Stated: generation, width, Max_Payload_Size 128 B, Max_Read_Request_Size 512 B. Not stated: ' +
      'the transfer size and the card. The rates of server 2 have two digits.',
  },
  {
    folder: 'trace-window',
    title: 'Window of a logic analyser, 8 GT/s x8',
    grade: { write: 'A', read: 'B' },
    inputs:
      'Stated: Max_Payload_Size 256 B, 16 tags. Not stated: the size of a read request. A window of 142 cycles in mid-transfer is not a ' +
      'sustained rate: it has no set-up and may hold no SKP ordered set.',
  },
  {
    folder: 'bulk-write',
    title: 'DMA engine, 5 GT/s x8',
    grade: { write: 'B' },
    inputs: 'Stated: generation and width. Max_Payload_Size is not; 128 B is taken.',
  },
];

/** Published points that are no rows, and why. */
export const leftOut: readonly { readonly what: string; readonly why: string }[] = [
  {
    what: 'open data set with Neugebauer et al., SIGCOMM 2018: alternating reads and writes',
    why: 'no rows, since a row is one stream; beside the fitted card and in a study instead',
  },
  {
    what: 'Sun Microsystems, blogs.oracle.com/pyakutis: both directions at once; the T2000 page',
    why: 'how the two directions were loaded is not stated; two rates stand for one slot; question 1',
  },
  {
    what: 'Intel AN 690 §1.6.5: 6.8 GB/s including read requests, 6.4 GB/s both ways',
    why: 'how the two directions share the window is not stated; question 6',
  },
  {
    what: 'Intel 683517 §2.4.1.3: 26.08 GB/s at 16 GT/s x16',
    why: 'Max_Payload_Size is not stated, and every payload size makes it possible; as question 9',
  },
  {
    what: 'Microchip, PolarFire endpoint application note §4.4: 1091 and 1104 MB/s',
    why: 'neither generation nor width is stated',
  },
  {
    what: 'Zazo et al., ReConFig 2015; Jacobsen et al., TRETS 2015; Durante et al., IEEE TNS 2015',
    why: 'headline rates ("up to", a share of an unstated limit); sizes are not stated',
  },
];
