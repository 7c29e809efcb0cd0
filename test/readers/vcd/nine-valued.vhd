library ieee; use ieee.std_logic_1164.all; use ieee.numeric_std.all;
entity top is end top;
architecture test of top is
  signal clk : std_logic := '0';
  signal line : std_logic := 'U';
  signal data : std_logic_vector(63 downto 32);
  signal up : std_logic_vector(0 to 3) := "01ZX";
  signal level : real := 0.25;
  signal count : integer := -5;
  signal flag : boolean := false;
begin
  clk <= not clk after 5 ns when now < 60 ns;
  process begin
    wait for 12 ns;
    line <= 'H'; data <= x"0000FFFF"; up <= "LH-W"; level <= 2.5e-9; count <= 1000; flag <= true;
    wait for 13 ns;
    line <= 'L'; data <= (others => 'Z'); up <= "1111";
    wait for 10 ns;
    line <= '-'; data(40) <= '1';
    wait for 5 ns;
    line <= '1'; data <= x"80000001";
    wait;
  end process;
end test;
