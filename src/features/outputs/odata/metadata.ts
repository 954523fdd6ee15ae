import { xmlText } from '../../../common/files/xml.js';
import type { EntitySet, Property } from './entity-sets.js';

/** The namespace of the model, and the name of its container. */
const NAMESPACE = 'Drivebook';
const CONTAINER = 'Record';

const CORE = 'https://docs.oasis-open.org/odata/odata/v4.0/os/vocabularies/Org.OData.Core.V1.xml';

const described = (text: string): string => `<Annotation Term="Core.Description" String="${xmlText(text)}"/>`;

const propertyXml = ({ name, edm, facets = {}, isKey, description }: Property): string => {
  const more = Object.entries({ ...facets, ...(isKey && { Nullable: 'false' }) })
    .map(([facet, value]) => ` ${facet}="${value}"`)
    .join('');
  return `<Property Name="${name}" Type="${edm}"${more}>${described(description)}</Property>`;
};

const typeXml = ({ name, description, properties, key }: EntitySet): string =>
  [
    `<EntityType Name="${name}">`,
    `<Key>${key.map((property) => `<PropertyRef Name="${property.name}"/>`).join('')}</Key>`,
    ...[...properties.values()].map(propertyXml),
    described(description),
    '</EntityType>',
  ].join('\n');

/** The model of the feed as CSDL 4.0 in XML (OASIS, OData Version 4.0 Part 3). */
export const metadataOf = (sets: Iterable<EntitySet>): string => {
  const all = [...sets];
  return `<?xml version="1.0" encoding="utf-8"?>
<edmx:Edmx xmlns:edmx="http://docs.oasis-open.org/odata/ns/edmx" Version="4.0">
<edmx:Reference Uri="${CORE}"><edmx:Include Namespace="Org.OData.Core.V1" Alias="Core"/></edmx:Reference>
<edmx:DataServices>
<Schema xmlns="http://docs.oasis-open.org/odata/ns/edm" Namespace="${NAMESPACE}">
${all.map(typeXml).join('\n')}
<EntityContainer Name="${CONTAINER}">
${all.map(({ name }) => `<EntitySet Name="${name}" EntityType="${NAMESPACE}.${name}"/>`).join('\n')}
</EntityContainer>
</Schema>
</edmx:DataServices>
</edmx:Edmx>
`;
};
