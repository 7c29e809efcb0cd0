// A source with pauses, a sink with back-pressure, and counters that look at every rising edge.
`timescale 1ns/1ps
module source(input wire aclk, input wire aresetn, output reg m_axis_tvalid,
              input wire m_axis_tready, output reg [63:0] m_axis_tdata,
              output reg [7:0] m_axis_tkeep, output reg m_axis_tlast);
  reg [15:0] lfsr = 16'hace1;
  integer beat = 0;
  always @(posedge aclk) begin
    lfsr <= {lfsr[14:0], lfsr[15] ^ lfsr[13] ^ lfsr[12] ^ lfsr[10]};
    if (!aresetn) begin
      m_axis_tvalid <= 0; m_axis_tlast <= 0; m_axis_tkeep <= 8'hff; m_axis_tdata <= 0;
    end else if (!m_axis_tvalid || m_axis_tready) begin
      m_axis_tvalid <= lfsr[0] | lfsr[1];
      if (lfsr[0] | lfsr[1]) begin
        beat = beat + 1;
        m_axis_tdata <= {4{lfsr}};
        m_axis_tlast <= beat % 5 == 0;
        m_axis_tkeep <= beat % 5 == 0 ? 8'h1f : 8'hff;
      end
    end
  end
endmodule
module bench;
  reg aclk = 0, aresetn = 0, ready = 0;
  wire valid, last; wire [63:0] data; wire [7:0] keep;
  integer clocks = 0, beats = 0, bytes = 0, gaps = 0, held = 0, resets = 0, packets = 0, k;
  source \dut[0] (.aclk(aclk), .aresetn(aresetn), .m_axis_tvalid(valid), .m_axis_tready(ready),
                  .m_axis_tdata(data), .m_axis_tkeep(keep), .m_axis_tlast(last));
  always #4 aclk = ~aclk;
  always @(posedge aclk) begin
    ready <= ($time / 8) % 7 != 3 && ($time / 8) % 11 != 5;
    clocks = clocks + 1;
    if (!aresetn) resets = resets + 1;
    else if (!valid) gaps = gaps + 1;
    else if (!ready) held = held + 1;
    else begin
      beats = beats + 1;
      for (k = 0; k < 8; k = k + 1) bytes = bytes + keep[k];
      if (last) packets = packets + 1;
    end
  end
  initial begin
    $dumpfile("stream.vcd");
    $dumpvars(1, \dut[0] );
    #30 aresetn = 1;
    #1000;
    $display("clocks %0d beats %0d bytes %0d gaps %0d held %0d resets %0d packets %0d",
             clocks, beats, bytes, gaps, held, resets, packets);
    $finish;
  end
endmodule
