// Of questions asked one upon another, only the answer to the last one counts.
//
//   const asked = newest(() => job.get("/api/timber"));
//   const found = await asked();      null where it was asked again since: a newer answer comes

/** @template T @param {() => Promise<T>} ask @returns {() => Promise<T|null>} */
export function newest(ask) {
  let last = 0;
  return async () => {
    const own = ++last, answer = await ask();
    return own === last ? answer : null;
  };
}
