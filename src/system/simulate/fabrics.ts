/** Event rules by fabric: one line each. */
import type { EventRules } from '../../links/events.ts';
import { pcieEvents } from '../../links/pcie/events/index.ts';
import type { FabricId } from '../../model/fabrics.ts';

export const eventRules: Readonly<Record<FabricId, EventRules<unknown>>> = {
  pcie: pcieEvents as EventRules<unknown>,
};
