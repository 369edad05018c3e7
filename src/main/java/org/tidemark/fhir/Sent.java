package org.tidemark.fhir;

import java.util.List;

/**
 * An element of a resource as it was sent, before anything is made of it: the common ground of JSON
 * and XML on which its shape is checked.
 *
 * @param name its name; for a resource the name of the element that holds it
 * @param resourceType the type, when the element is a resource, else null
 * @param kind what it was written as
 * @param listed whether it stood in a JSON array
 * @param value its text, when it is written as a value, else null
 * @param children what it holds
 */
record Sent(
    String name,
    String resourceType,
    Kind kind,
    boolean listed,
    String value,
    List<Sent> children) {

  /** What an element was written as. */
  enum Kind {
    /** A JSON object, or an XML element, with or without a value. */
    OBJECT,
    /** A JSON string. */
    STRING,
    /** A JSON number. */
    NUMBER,
    /** A JSON true or false. */
    BOOLEAN,
    /** A JSON null. */
    NULL,
    /** The value of an XML attribute. */
    ATTRIBUTE,
    /** XHTML. */
    XHTML
  }
}
