package org.tidemark.http;

import jakarta.servlet.ServletOutputStream;
import jakarta.servlet.http.HttpServletResponse;
import jakarta.servlet.http.HttpServletResponseWrapper;
import java.io.IOException;
import java.io.PrintWriter;
import org.tidemark.audit.AuditTrail;
import org.tidemark.audit.Visit;

/** An answer of which nothing goes out before the request has been audited. */
final class AuditedResponse extends HttpServletResponseWrapper {
  private final AuditTrail trail;
  private final Visit visit;
  private final boolean free;
  private boolean ended;

  /**
   * An answer to a request.
   *
   * @param free whether it tells of the service and of nobody; then only a refusal is audited
   */
  AuditedResponse(HttpServletResponse response, AuditTrail trail, Visit visit, boolean free) {
    super(response);
    this.trail = trail;
    this.visit = visit;
    this.free = free;
  }

  /**
   * Audits the request, once.
   *
   * @param status the status of the answer
   */
  void end(int status) {
    if (!ended) {
      ended = true;
      if (!free || status >= SC_BAD_REQUEST) {
        trail.end(visit, status);
      }
    }
  }

  @Override
  public PrintWriter getWriter() throws IOException {
    end(getStatus());
    return super.getWriter();
  }

  @Override
  public ServletOutputStream getOutputStream() throws IOException {
    end(getStatus());
    return super.getOutputStream();
  }

  @Override
  public void sendError(int status) throws IOException {
    end(status);
    super.sendError(status);
  }

  @Override
  public void sendError(int status, String message) throws IOException {
    end(status);
    super.sendError(status, message);
  }

  @Override
  public void sendRedirect(String location) throws IOException {
    end(SC_FOUND);
    super.sendRedirect(location);
  }

  @Override
  public void flushBuffer() throws IOException {
    end(getStatus());
    super.flushBuffer();
  }
}
