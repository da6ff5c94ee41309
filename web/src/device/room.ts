// How much room the device gives us, and whether it promises to keep what is here.

export interface Room {
  kept: boolean; // the browser promised not to clear it by itself
  used: number; // bytes
  all: number;
}

export async function askToKeep(): Promise<boolean> {
  try {
    return (await navigator.storage?.persist?.()) ?? false;
  } catch {
    return false;
  }
}

export async function room(): Promise<Room | null> {
  if (!navigator.storage?.estimate) return null;
  const [{ usage = 0, quota = 0 }, kept] = await Promise.all([
    navigator.storage.estimate(),
    navigator.storage.persisted?.() ?? false,
  ]);
  return { kept, used: usage, all: quota };
}
