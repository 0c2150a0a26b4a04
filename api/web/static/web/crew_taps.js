// What was tapped, kept on the phone until the server has answered: closing the page loses nothing.

const STORE = "taps";

function opened() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open("crew-taps", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "id" });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

async function inStore(mode, work) {
  const database = await opened();
  try {
    return await new Promise((resolve, reject) => {
      const change = database.transaction(STORE, mode);
      const asked = work(change.objectStore(STORE));
      change.oncomplete = () => resolve(asked.result);
      change.onabort = () => reject(change.error);
    });
  } finally {
    database.close();
  }
}

/** Keep a tap under the id of its form: the same form kept twice is one tap. */
export const keep = (tap) => inStore("readwrite", (store) => store.put(tap));

export const forget = (id) => inStore("readwrite", (store) => store.delete(id));

/** Return the taps of one crew's page, the oldest first. */
export async function kept(page) {
  const taps = await inStore("readonly", (store) => store.getAll());
  return taps.filter((tap) => tap.page === page).sort((one, other) => one.order - other.order);
}
