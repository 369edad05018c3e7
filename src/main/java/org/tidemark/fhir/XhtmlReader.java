package org.tidemark.fhir;

import java.io.IOException;
import java.io.StringReader;
import java.io.UncheckedIOException;
import java.util.ArrayDeque;
import java.util.Deque;
import java.util.List;
import javax.xml.parsers.ParserConfigurationException;
import javax.xml.parsers.SAXParserFactory;
import org.hl7.fhir.utilities.xhtml.NodeType;
import org.hl7.fhir.utilities.xhtml.XhtmlNode;
import org.xml.sax.Attributes;
import org.xml.sax.InputSource;
import org.xml.sax.SAXException;
import org.xml.sax.helpers.DefaultHandler;

/**
 * Reads XHTML that we have written into the nodes of a narrative. The XML parser of the JDK does so
 * in a tenth of the time that HAPI's reader of any HTML takes, and refuses what is not well-formed.
 */
final class XhtmlReader extends DefaultHandler {
  private final XhtmlNode document = new XhtmlNode(NodeType.Document);
  private final Deque<XhtmlNode> open = new ArrayDeque<>(List.of(document));
  private final StringBuilder text = new StringBuilder();

  private XhtmlReader() {}

  /**
   * The outermost element.
   *
   * @throws IllegalArgumentException when it is no well-formed XML
   */
  static XhtmlNode read(String xhtml) {
    XhtmlReader reader = new XhtmlReader();
    try {
      SAXParserFactory.newDefaultInstance()
          .newSAXParser()
          .parse(new InputSource(new StringReader(xhtml)), reader);
    } catch (SAXException e) {
      throw new IllegalArgumentException("no well-formed XHTML: " + e.getMessage(), e);
    } catch (ParserConfigurationException e) {
      throw new IllegalStateException(e);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
    return reader.document.getChildNodes().get(0);
  }

  @Override
  public void startElement(String uri, String local, String name, Attributes attributes) {
    closeText();
    XhtmlNode element = open.element().addTag(name);
    for (int i = 0; i < attributes.getLength(); i++) {
      element.setAttribute(attributes.getQName(i), attributes.getValue(i));
    }
    open.push(element);
  }

  @Override
  public void endElement(String uri, String local, String name) {
    closeText();
    open.pop();
  }

  @Override
  public void characters(char[] letters, int start, int length) {
    text.append(letters, start, length);
  }

  private void closeText() {
    if (!text.isEmpty()) {
      open.element().addText(text.toString());
      text.setLength(0);
    }
  }
}
