// SPDX-License-Identifier: Apache-2.0
//
// Names of sources, and who takes them by these.

/** Names by which a source may be taken: "Camera", or "Camera 1" to "Camera 3" where it has a count. */
const namesOf = (source) => (source?.count > 1
  ? Array.from({length: Math.min(source.count, 16)}, (unused, i) => `${source.name} ${i + 1}`) : [source?.name]);

/** What an output may take: as the parser allows it. */
export function takesChoices(profile, output) {
  const names = (profile.sources ?? []).flatMap(namesOf);
  const whole = output.kind === 'iso' ? [] : [{value: 'program', label: 'the programme'},
    ...(profile.multiview ? [{value: 'multiview', label: 'the multiview'}] : [])];
  return [...whole, {value: 'every source', label: 'every source, one each'}, ...names.filter((name) => typeof name === 'string')];
}

/** A name that no other has. */
export function freeName(list, wanted) {
  const taken = new Set(list.map((one) => one?.name));
  for (let number = 1; ; number += 1) {
    const name = number === 1 ? wanted : `${wanted} ${number}`;
    if (!taken.has(name)) {
      return name;
    }
  }
}

/** The name by which a source that was renamed is taken: another one where a rename was not followed. */
const taken_as = new WeakMap();

/** Whoever takes a source by its name takes it by the new one, as long as each name means one source. */
export function renameSource(profile, source, drawn_name, to) {
  const from = taken_as.get(source) ?? drawn_name;
  const taken = new Set(profile.sources.filter((one) => one !== source).flatMap((one) => [one.name, ...namesOf(one)]));
  if (taken.has(from) || taken.has(to)) {
    taken_as.set(source, from);
    return;
  }
  taken_as.set(source, to);
  const numbered = new Set(source.count > 1 ? namesOf({...source, name: from}) : []);
  const renamed = (name) => (name === from || (numbered.has(name) && !taken.has(name)) ? to + name.slice(from.length) : name);
  for (const output of profile.outputs ?? []) {
    output.takes = renamed(output.takes);
  }
  for (const chain of profile.camera_control ?? []) {
    for (const camera of chain.cameras ?? []) {
      camera.source = renamed(camera.source);
    }
  }
}
