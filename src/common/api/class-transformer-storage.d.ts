/** Where class-transformer keeps what its decorators declare: of it, what is asked here. It is no part of its declared types. */
declare module 'class-transformer/cjs/storage.js' {
  import type { TransformFnParams, TransformOptions, TypeOptions } from 'class-transformer';

  export const defaultMetadataStorage: {
    findTransformMetadatas(
      target: object,
      property: string,
      type: number,
    ): { transformFn: (given: TransformFnParams) => unknown; options?: TransformOptions }[];
    findTypeMetadata(
      target: object,
      property: string,
    ): { typeFunction?: () => unknown; options?: TypeOptions } | undefined;
    getStrategy(target: object): 'excludeAll' | 'exposeAll' | 'none';
    getExposedMetadatas(target: object): unknown[];
  };
}
