package org.tidemark.http;

import jakarta.servlet.ServletOutputStream;
import jakarta.servlet.WriteListener;
import jakarta.servlet.http.HttpServletResponse;
import jakarta.servlet.http.HttpServletResponseWrapper;
import java.io.ByteArrayOutputStream;
import java.io.OutputStreamWriter;
import java.io.PrintWriter;
import java.nio.charset.StandardCharsets;

/** A response whose body is kept, to be sent in another form; status and other headers pass. */
final class KeptResponse extends HttpServletResponseWrapper {
  private final ByteArrayOutputStream body = new ByteArrayOutputStream();
  private final PrintWriter writer =
      new PrintWriter(new OutputStreamWriter(body, StandardCharsets.UTF_8));

  KeptResponse(HttpServletResponse response) {
    super(response);
  }

  /** What was written, in UTF-8. */
  String text() {
    writer.flush();
    return body.toString(StandardCharsets.UTF_8);
  }

  @Override
  public PrintWriter getWriter() {
    return writer;
  }

  @Override
  public ServletOutputStream getOutputStream() {
    return new ServletOutputStream() {
      @Override
      public boolean isReady() {
        return true;
      }

      @Override
      public void setWriteListener(WriteListener listener) {
        throw new IllegalStateException("the response is not asynchronous");
      }

      @Override
      public void write(int one) {
        body.write(one);
      }

      @Override
      public void write(byte[] from, int offset, int length) {
        body.write(from, offset, length);
      }
    };
  }

  @Override
  public void setContentLength(int length) {
    // Another form has another length.
  }

  @Override
  public void setContentLengthLong(long length) {
    // Another form has another length.
  }

  @Override
  public void flushBuffer() {
    // Nothing is sent before it is whole.
  }
}
