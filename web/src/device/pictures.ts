// A photo as it is kept: drawn anew, so that nothing comes with it, and no larger
// than the office keeps it.

const longest = 2048;

export interface Taken {
  sha256: string;
  type: 'image/jpeg';
  bytes: Blob;
  width: number;
  height: number;
}

export async function takePicture(file: Blob): Promise<Taken> {
  const picture = await createImageBitmap(file, { imageOrientation: 'from-image' });
  const scale = Math.min(1, longest / Math.max(picture.width, picture.height));
  const [width, height] = [Math.round(picture.width * scale), Math.round(picture.height * scale)];
  const canvas = document.createElement('canvas');
  canvas.width = width;
  canvas.height = height;
  canvas.getContext('2d')!.drawImage(picture, 0, 0, width, height);
  picture.close();
  const bytes = await new Promise<Blob>((done, fail) =>
    canvas.toBlob(
      (b) => (b ? done(b) : fail(new Error('the picture could not be drawn'))),
      'image/jpeg',
      0.8,
    ),
  );
  const sum = await crypto.subtle.digest('SHA-256', await bytes.arrayBuffer());
  const sha256 = Array.from(new Uint8Array(sum), (b) => b.toString(16).padStart(2, '0')).join('');
  return { sha256, type: 'image/jpeg', bytes, width, height };
}
