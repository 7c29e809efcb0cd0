`timescale 1ns/100ps
module leaf(input wire clk, output reg [7:0] count);
  initial count = 8'hxx;
  always @(posedge clk) count <= count === 8'hxx ? 8'd0 : count + 8'd1;
endmodule
module top;
  reg clk = 0;
  wire [7:0] count;
  reg [99:0] wide = 100'bz;
  reg \odd#name[3] = 1'bx;
  reg [0:15] swapped = 16'h8001;
  real level = 0.5;
  integer whole = -3;
  wire pulled;
  event done;
  time when = 0;
  tri1 up;
  leaf \leaf.one (.clk(clk), .count(count));
  genvar g;
  generate for (g = 0; g < 2; g = g + 1) begin : lane
    reg [3:0] n = g;
  end endgenerate
  always #7.5 clk = ~clk;
  initial begin
    $dumpfile("kinds.vcd");
    $dumpvars(0, top);
    #20 wide = {4'b1010, 64'hdeadbeef_00c0ffee, 32'hzzzzxxxx};
    level = 1.25e-3; whole = 70000;
    #10 \odd#name[3] = 1'b1; wide = 1; -> done; when = $time;
    #5 $dumpoff;
    #20 swapped = 16'h4002; level = 3.0e8;
    #5 $dumpon;
    #10 wide = {100{1'bx}}; lane[1].n = 4'bz01x;
    #10 $dumpall;
    #10 wide = {1'b1, 99'b0};
    #10 $finish;
  end
endmodule
