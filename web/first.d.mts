export function counts(): (file: string) => boolean;
