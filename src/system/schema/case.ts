/** The keys of a case file, as written: parts still by id. */

import type { CaseEvidence, Neighbour, Policy, Requirement, Settings } from '../case.ts';
import type { GivenQuantity } from '../given.ts';
import type { CaseRearMap } from '../pins.ts';
import type { ChannelPiece } from '../signals.ts';
import { checkNames, checkStreams } from './check-streams.ts';
import { EVIDENCE_MAX, evidence } from './evidence.ts';
import { headroom, neighbour, stream } from './flows.ts';
import { fileJson } from './json.ts';
import { plain, textRule } from './leaf.ts';
import { REAR_MAPS_MAX, rearMap } from './rear.ts';
import { referencesJson } from './reference.ts';
import { REQUIREMENTS_MAX, requirement } from './requirements.ts';
import { settings } from './settings.ts';
import { checked, fallback, list, object, optional, required, type Shape } from './shape.ts';
import { channel } from './signals.ts';
import type { RatedStream } from './stream.ts';
import { policy } from './thermal.ts';

/** A case file apart from its part references, which are read one by one. */
export interface WrittenCase {
  readonly title: string;
  readonly question?: string;
  readonly revision?: string;
  readonly headroom?: GivenQuantity;
  readonly policy?: Policy;
  readonly settings: Settings;
  readonly channel?: readonly ChannelPiece[];
  readonly streams: readonly RatedStream[];
  readonly neighbours: readonly Neighbour[];
  readonly evidence: readonly CaseEvidence[];
  readonly requirements: readonly Requirement[];
  readonly rear_maps?: readonly CaseRearMap[];
}

/** Most streams, and most neighbours, in a case. */
const STREAMS_MAX = 64;

/** The case apart from its parts. */
export const caseShape: Shape<WrittenCase> = object<WrittenCase>(
  {
    title: required(plain(textRule('a title')), 'For people.'),
    question: optional(plain(textRule('a question')), 'What is to be decided.'),
    revision: optional(plain(textRule('a revision')), 'Of this case.'),
    headroom: optional(headroom, 'Headroom asked for every stream; 0 % when absent.'),
    policy: optional(policy, 'Margins that are asked for.'),
    settings: fallback(settings, () => ({}), 'Settings of the system software.'),
    channel: optional(channel, "Pieces of the link's channel, from one end to the other."),
    streams: required(
      checked(list(stream, STREAMS_MAX), checkStreams),
      'The data flows; [] asks about fit alone.',
    ),
    neighbours: fallback(
      checked(list(neighbour, STREAMS_MAX), (all, out) => checkNames(all, 'neighbour', out)),
      () => [],
      'Traffic of other devices on the way.',
    ),
    evidence: fallback(
      list(evidence, EVIDENCE_MAX),
      () => [],
      'Files with measurements of the streams.',
    ),
    requirements: fallback(
      checked(list(requirement, REQUIREMENTS_MAX), (all, out) =>
        checkNames(
          all.map(({ id, place }) => ({ name: id, place })),
          'requirement',
          out,
        ),
      ),
      () => [],
      'Requirements of a specification, for a compliance matrix.',
    ),
    rear_maps: optional(
      list(rearMap, REAR_MAPS_MAX),
      'Files that list where mezzanine pins leave the carrier.',
    ),
  },
  { ...fileJson('case/1'), ...referencesJson },
);
